"""Lines of routes that go the same way stand side by side; all others stay where they are."""

import numpy as np

from routing.show.maps.aside import APART_PT, set_aside

RAIL = np.array([[0.0, 0.0], [20.0, 0.0], [40.0, 0.0], [40.0, 30.0]])


def _parted(first: np.ndarray, second: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return (
        set_aside(first, [second], APART_PT / 2),
        set_aside(second, [first], -APART_PT / 2),
    )


def test_lines_along_one_rail_part_whichever_way_they_go() -> None:
    for second in (RAIL, RAIL[::-1]):
        one, other = _parted(RAIL, second)
        other = other if second is RAIL else other[::-1]
        assert np.hypot(*(one - other).T).min() >= APART_PT - 1e-9


def test_the_side_is_the_same_for_grips_elsewhere_on_the_rail() -> None:
    grips_between = np.array([[5.0, 0.0], [11.0, 0.0], [33.0, 0.0]])
    one, other = _parted(RAIL[:3], grips_between)
    assert np.allclose(one[:, 1], APART_PT / 2)
    assert np.allclose(other[:, 1], -APART_PT / 2)


def test_where_no_other_route_goes_nothing_moves() -> None:
    far = np.array([[0.0, 9.0], [40.0, 9.0]])
    assert np.array_equal(set_aside(RAIL, [far], 1.5), RAIL)
    assert np.array_equal(set_aside(RAIL, [], 1.5), RAIL)
    assert np.array_equal(set_aside(RAIL, [RAIL], 0.0), RAIL)
    crossing = np.array([[10.0, -30.0], [10.0, 30.0]])
    assert np.array_equal(set_aside(RAIL, [crossing], 1.5), RAIL)
    single = np.array([[1.0, 1.0]])
    assert np.array_equal(set_aside(single, [RAIL], 1.5), single)
