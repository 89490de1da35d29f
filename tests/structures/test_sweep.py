"""Clearance of a carried ball: a lower bound within a millimetre, on thousands of random pairs."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from structures.shapes import Box, Cylinder, Prism, Shape, Sphere
from structures.solids import sweep as sweep_module
from structures.solids.distance import signed_distance
from structures.solids.sweep import (
    SWEEP_TOLERANCE_M,
    Sweep,
    places_clearance,
    sweep_clearance,
    sweep_clears,
    sweep_touches,
    sweep_verdicts,
)
from tests.structures.sample_shapes import KINDS, Floats, random_move, random_shape, slerp

RADIUS_M = 0.546
SAMPLES = 401


def sampled(shapes: tuple[Shape, ...], sweep: Sweep, radius_m: float) -> Floats:
    """Return clearances measured at many times, shape (shapes, n): never below the true ones."""
    least = np.full((len(shapes), len(sweep)), np.inf)
    for share in np.linspace(0, 1, SAMPLES):
        centers = slerp(sweep, share)
        for i, shape in enumerate(shapes):
            least[i] = np.minimum(least[i], signed_distance(shape, centers) - radius_m)
    return least


def sampling_error(sweep: Sweep) -> Floats:
    """Return by how much sampling may miss the least clearance: half a step of the way."""
    way = np.zeros(len(sweep))
    before = slerp(sweep, 0.0)
    for share in np.linspace(0, 1, SAMPLES)[1:]:
        here = slerp(sweep, share)
        way = np.maximum(way, np.linalg.norm(here - before, axis=1))
        before = here
    return way / 2 * 1.0001


@pytest.mark.parametrize("kind", KINDS)
def test_one_shape_against_dense_sampling(kind: str) -> None:
    """2000 random pairs a kind, close together so that most of them matter."""
    random = np.random.default_rng(31)
    clear_count = 0
    for _ in range(20):
        shape = random_shape(random, kind)
        sweep = random_move(random, 100, 3.5, RADIUS_M)
        clearance, nearest = sweep_clearance((shape,), sweep, RADIUS_M)
        reference = sampled((shape,), sweep, RADIUS_M)[0]
        assert (clearance <= reference + 1e-9).all()
        assert (clearance >= reference - sampling_error(sweep) - SWEEP_TOLERANCE_M - 1e-9).all()
        assert (nearest == 0).all()
        clear = sweep_clears((shape,), sweep, RADIUS_M)
        assert not clear[reference < 0].any()
        assert clear[reference - sampling_error(sweep) > SWEEP_TOLERANCE_M].all()
        clear_count += int(clear.sum())
    assert 200 < clear_count < 1900


def test_many_shapes_against_dense_sampling() -> None:
    random = np.random.default_rng(32)
    shapes = tuple(random_shape(random, kind, 7.0) for kind in KINDS for _ in range(8))
    sweep = random_move(random, 400, 9.0, RADIUS_M)
    each = sampled(shapes, sweep, RADIUS_M)
    reference = each.min(axis=0)
    clearance, nearest = sweep_clearance(shapes, sweep, RADIUS_M)
    error = sampling_error(sweep)
    assert (clearance <= reference + 1e-9).all()
    assert (clearance >= reference - error - SWEEP_TOLERANCE_M - 1e-9).all()
    # The named shape is one that really is that near.
    assert (each[nearest, np.arange(len(sweep))] <= reference + error + SWEEP_TOLERANCE_M).all()
    clear = sweep_clears(shapes, sweep, RADIUS_M)
    assert not clear[reference < 0].any()
    assert clear[reference - error > SWEEP_TOLERANCE_M].all()
    # A cap changes nothing but what is above it.
    capped, named = sweep_clearance(shapes, sweep, RADIUS_M, cap_m=0.5)
    assert (capped <= np.minimum(reference, 0.5) + 1e-9).all()
    assert (capped >= np.minimum(reference - error, 0.5) - SWEEP_TOLERANCE_M - 1e-9).all()
    assert ((named == -1) == (capped == 0.5)).all()


def test_clearance_of_places_is_exact() -> None:
    random = np.random.default_rng(33)
    shapes = tuple(random_shape(random, kind, 7.0) for kind in KINDS for _ in range(8))
    points = random.uniform(-30, 30, (2000, 3))
    each = np.stack([signed_distance(shape, points) for shape in shapes]) - 0.3
    clearance, nearest = places_clearance(shapes, points, 0.3)
    assert clearance == pytest.approx(each.min(axis=0), abs=1e-12)
    assert (nearest == each.argmin(axis=0)).all()


def test_a_place_is_a_ball_that_is_carried_nowhere() -> None:
    random = np.random.default_rng(37)
    shapes = tuple(random_shape(random, kind, 7.0) for kind in KINDS for _ in range(8))
    points = random.uniform(-30, 30, (2000, 3))
    still = np.tile([1.0, 0.0, 0.0], (len(points), 1))
    for cap_m in (np.inf, 1.0, SWEEP_TOLERANCE_M):
        places = places_clearance(shapes, points, 0.3, cap_m=cap_m)
        carried = sweep_clearance(
            shapes, Sweep(points, points, still, still, 0.0), 0.3, cap_m=cap_m
        )
        assert all(map(np.array_equal, places, carried))


def test_touching_pairs_are_what_each_shape_refuses() -> None:
    """Also where the way is not known, which every shape refuses."""
    random = np.random.default_rng(36)
    shapes = tuple(random_shape(random, kind, 5.0) for kind in KINDS for _ in range(3))
    sweep = random_move(random, 300, 5.0, RADIUS_M)
    back = sweep.start_lean[:1]
    sweep = Sweep(
        sweep.start_m,
        sweep.end_m,
        sweep.start_lean,
        np.concatenate([-back, sweep.end_lean[1:]]),
        RADIUS_M,
    )
    refused = [~sweep_clears((shape,), sweep, RADIUS_M) for shape in shapes]
    assert all(moves[0] for moves in refused)
    assert 50 < np.sum(refused) < 3000
    shape, move = sweep_touches(shapes, sweep, RADIUS_M)
    assert list(zip(shape.tolist(), move.tolist(), strict=True)) == [
        (i, j) for i, moves in enumerate(refused) for j in np.flatnonzero(moves).tolist()
    ]
    assert [len(index) for index in sweep_touches((), sweep, RADIUS_M)] == [0, 0]
    with pytest.raises(ValueError, match="ball radius -1"):
        sweep_touches(shapes, sweep, -1.0)


def test_small_blocks_give_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    random = np.random.default_rng(34)
    shapes = tuple(random_shape(random, kind, 4.0) for kind in KINDS for _ in range(2))
    sweep = random_move(random, 300, 5.0, RADIUS_M)
    whole = sweep_clearance(shapes, sweep, RADIUS_M)
    clear = sweep_clears(shapes, sweep, RADIUS_M)
    touching = sweep_touches(shapes, sweep, RADIUS_M)
    monkeypatch.setattr(sweep_module, "BLOCK", 37)
    monkeypatch.setattr(sweep_module, "PIECE", 11)
    again = sweep_clearance(shapes, sweep, RADIUS_M)
    assert again[0] == pytest.approx(whole[0], abs=SWEEP_TOLERANCE_M)
    assert (sweep_clears(shapes, sweep, RADIUS_M) == clear).all()
    assert all(map(np.array_equal, sweep_touches(shapes, sweep, RADIUS_M), touching))


def test_order_of_moves_and_shapes_changes_nothing_that_matters() -> None:
    random = np.random.default_rng(35)
    shapes = tuple(random_shape(random, kind, 4.0) for kind in KINDS for _ in range(2))
    sweep = random_move(random, 300, 5.0, RADIUS_M)
    order = random.permutation(300)
    shuffled = Sweep(
        sweep.start_m[order],
        sweep.end_m[order],
        sweep.start_lean[order],
        sweep.end_lean[order],
        sweep.offset_m,
    )
    clear = sweep_clears(shapes, sweep, RADIUS_M)
    assert (sweep_clears(shapes, shuffled, RADIUS_M) == clear[order]).all()
    assert (sweep_clears(shapes[::-1], sweep, RADIUS_M) == clear).all()
    clearance, nearest = sweep_clearance(shapes, sweep, RADIUS_M)
    other, named = sweep_clearance(shapes, shuffled, RADIUS_M)
    assert (other == clearance[order]).all()
    assert (named == nearest[order]).all()


@given(st.integers(0, 10_000))
def test_going_back_is_as_clear_as_going(draw: int) -> None:
    random = np.random.default_rng(draw)
    shapes = tuple(random_shape(random, kind, 3.0) for kind in KINDS)
    go = random_move(random, 20, 3.0, RADIUS_M)
    back = Sweep(go.end_m, go.start_m, go.end_lean, go.start_lean, RADIUS_M)
    there, _ = sweep_clearance(shapes, go, RADIUS_M)
    home, _ = sweep_clearance(shapes, back, RADIUS_M)
    assert home == pytest.approx(there, abs=SWEEP_TOLERANCE_M + 1e-9)


@given(st.integers(0, 10_000))
def test_another_shape_never_gives_room(draw: int) -> None:
    random = np.random.default_rng(draw)
    shapes = tuple(random_shape(random, kind, 3.0) for kind in KINDS)
    sweep = random_move(random, 20, 3.0, RADIUS_M)
    few, _ = sweep_clearance(shapes[:3], sweep, RADIUS_M)
    many, _ = sweep_clearance(shapes, sweep, RADIUS_M)
    assert (many <= few + SWEEP_TOLERANCE_M + 1e-9).all()
    assert not (
        sweep_clears(shapes, sweep, RADIUS_M) & ~sweep_clears(shapes[:3], sweep, RADIUS_M)
    ).any()


@given(st.integers(0, 10_000), st.floats(0, 1))
def test_bigger_ball_never_gets_by_better(draw: int, more_m: float) -> None:
    random = np.random.default_rng(draw)
    shapes = tuple(random_shape(random, kind, 3.0) for kind in KINDS)
    sweep = random_move(random, 20, 3.0, RADIUS_M)
    small, _ = sweep_clearance(shapes, sweep, 0.4)
    big, _ = sweep_clearance(shapes, sweep, 0.4 + more_m)
    assert big == pytest.approx(small - more_m, abs=SWEEP_TOLERANCE_M + 1e-9)


WALL = Box(center_m=(0.0, 0.0, -5.0), size_m=(100.0, 100.0, 10.0))
UP = [0.0, 0.0, 1.0]


def of_body(sweep: Sweep, radius_m: float) -> Sweep:
    """Return the ways of the ball of another radius that touches the hands in the same way."""
    return Sweep(sweep.start_m, sweep.end_m, sweep.start_lean, sweep.end_lean, radius_m)


@pytest.mark.parametrize("kind", KINDS)
def test_verdicts_that_hold_for_other_balls_do(kind: str) -> None:
    random = np.random.default_rng(32)
    told = np.zeros(2, dtype=int)
    for _ in range(8):
        shapes = tuple(random_shape(random, kind, 4.0) for _ in range(4))
        sweep = random_move(random, 400, 4.5, RADIUS_M)
        found = sweep_verdicts(shapes, sweep, RADIUS_M)
        np.testing.assert_array_equal(found.clear, sweep_clears(shapes, sweep, RADIUS_M))
        for radius_m in (0.0, 0.3, RADIUS_M, 0.7, 1.4):
            other = sweep_clears(shapes, of_body(sweep, radius_m), radius_m)
            assert radius_m > RADIUS_M or other[found.smaller].all()
            assert radius_m < RADIUS_M or not other[found.larger].any()
        told += found.smaller.sum(), found.larger.sum()
    assert (told > 200).all()


def along_wall(height_m: float) -> Sweep:
    return Sweep(
        np.array([[0.0, 0.0, height_m]]),
        np.array([[0.8, 0.0, height_m]]),
        np.array([UP]),
        np.array([UP]),
        0.5,
    )


@pytest.mark.parametrize(
    ("height_m", "clear"),
    [(-0.2, False), (-1e-6, False), (-1e-9, False), (0.0011, True), (0.1, True)],
)
def test_along_a_wall(height_m: float, clear: bool) -> None:
    """The ball's radius and offset are the same, so the grip's height is the clearance."""
    assert sweep_clears((WALL,), along_wall(height_m), 0.5).tolist() == [clear]
    assert sweep_clearance((WALL,), along_wall(height_m), 0.5)[0] == pytest.approx(height_m)


def test_verdicts_at_the_tolerance_hold_for_no_other_ball() -> None:
    # Along a wall the clearance does not depend on the radius: rounding decides each anew.
    for height_m, smaller in ((SWEEP_TOLERANCE_M, False), (0.0, False), (0.07, True)):
        found = sweep_verdicts((WALL,), along_wall(height_m), 0.5)
        assert found.smaller.tolist() == [smaller]
        assert not found.larger.any()
    assert sweep_verdicts((WALL,), along_wall(-1e-6), 0.5).larger.all()


def test_verdicts_hold_for_other_balls_only_if_the_ball_touches_the_hands() -> None:
    found = sweep_verdicts((WALL,), along_wall(0.5), 0.3)
    assert found.clear.all()
    assert not found.smaller.any()


def test_turn_round_a_point_dips_below_its_ends() -> None:
    """Grips at the tip of a mast: the ball swings over it, and the swing is what collides."""
    mast = Cylinder(start_m=(0.0, 0.0, 2.0), end_m=(0.0, 0.0, 6.0), radius_m=0.1)
    tip = np.array([[0.0, 0.0, 1.0]])
    side = np.array([[np.sin(1.2), 0.0, np.cos(1.2)]])
    swing = Sweep(tip, tip, side, side * [-1.0, 1.0, 1.0], 0.8)
    at_ends, _ = places_clearance((mast,), tip + 0.8 * side, 0.25)
    assert at_ends[0] > 0.5
    # At the middle the centre is 0.8 above the tip: 0.2 below the mast, less the radius.
    clearance, _ = sweep_clearance((mast,), swing, 0.25)
    assert clearance[0] == pytest.approx(-0.05, abs=SWEEP_TOLERANCE_M)
    assert not sweep_clears((mast,), swing, 0.25)[0]


def test_opposite_leans_are_refused() -> None:
    away = Sphere(center_m=(50.0, 0.0, 0.0), radius_m=1.0)
    down = np.array([[0.0, 0.0, -1.0]])
    turn = Sweep(np.zeros((1, 3)), np.ones((1, 3)), np.array([UP]), down, 0.5)
    for shapes in ((), (away,)):
        assert not sweep_clears(shapes, turn, 0.5)[0]
        clearance, nearest = sweep_clearance(shapes, turn, 0.5)
        assert clearance[0] == -np.inf
        assert nearest[0] == -1
    still = Sweep(np.zeros((1, 3)), np.ones((1, 3)), np.array([UP]), down, 0.0)
    assert sweep_clears((away,), still, 0.5)[0]  # a ball at the grip itself does not turn


def test_nothing_to_hit() -> None:
    sweep = along_wall(0.1)
    assert sweep_clears((), sweep, 0.5).tolist() == [True]
    clearance, nearest = sweep_clearance((), sweep, 0.5)
    assert clearance.tolist() == [np.inf]
    assert nearest.tolist() == [-1]
    none = Sweep(*[np.empty((0, 3))] * 4, 0.5)
    assert sweep_clears((WALL,), none, 0.5).shape == (0,)
    assert sweep_clearance((WALL,), none, 0.5)[0].shape == (0,)


def test_comb_is_not_taken_for_convex() -> None:
    """Both ends and the middle of the move have room; the teeth in between do not let it by."""
    comb = Prism(
        origin_m=(0.0, 0.0, -1.0),
        outline_m=(
            (-1.0, -1.0),
            (2.0, -1.0),
            (2.0, 0.0),
            (0.76, 0.0),
            (0.76, 1.0),
            (0.74, 1.0),
            (0.74, 0.0),
            (0.26, 0.0),
            (0.26, 1.0),
            (0.24, 1.0),
            (0.24, 0.0),
            (-1.0, 0.0),
        ),
        height_m=2.0,
    )
    lean = np.array([UP])
    over = Sweep(np.array([[0.0, 0.2, 0.0]]), np.array([[1.0, 0.2, 0.0]]), lean, lean, 0.0)
    places = np.array([[0.0, 0.2, 0.0], [0.5, 0.2, 0.0], [1.0, 0.2, 0.0]])
    assert places_clearance((comb,), places, 0.05)[0] == pytest.approx(0.15)
    assert not sweep_clears((comb,), over, 0.05)[0]
    assert sweep_clearance((comb,), over, 0.05)[0] == pytest.approx(-0.06, abs=1e-3)


def test_ball_deep_inside_is_not_culled() -> None:
    """A ball well inside a big body is deeper than its own radius, and than in a small one."""
    big = Sphere(center_m=(0.0, 0.0, 0.0), radius_m=20.0)
    small = Sphere(center_m=(0.0, 0.0, 0.0), radius_m=3.0)
    clearance, nearest = places_clearance((small, big), np.zeros((1, 3)), 0.5)
    assert clearance[0] == pytest.approx(-20.5)
    assert nearest[0] == 1


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("start_m", np.full((1, 3), np.nan), "start_m"),
        ("end_lean", np.array([[0.0, 0.0, 2.0]]), "not a unit vector"),
        ("end_lean", np.zeros((1, 3)), "not a unit vector"),
        ("end_m", np.zeros((2, 3)), "as many"),
        ("offset_m", -0.1, "offset"),
        ("offset_m", np.nan, "offset"),
    ],
)
def test_what_is_no_sweep(field: str, value: object, message: str) -> None:
    parts = {name: getattr(along_wall(0.1), name) for name in Sweep.__dataclass_fields__}
    with pytest.raises(ValueError, match=message):
        Sweep(**{**parts, field: value})


@pytest.mark.parametrize("radius_m", [np.nan, -0.1, np.inf])
def test_radius_must_be_a_length(radius_m: float) -> None:
    with pytest.raises(ValueError, match="ball radius"):
        sweep_clears((WALL,), along_wall(0.1), radius_m)
    with pytest.raises(ValueError, match="ball radius"):
        sweep_clearance((), along_wall(0.1), radius_m)
    with pytest.raises(ValueError, match="cap"):
        sweep_clearance((WALL,), along_wall(0.1), 0.1, cap_m=np.nan)


def test_a_radius_for_each_way_is_that_of_each_alone() -> None:
    rng = np.random.default_rng(8)
    shapes = tuple(random_shape(rng, kind) for kind in KINDS for _ in range(2))
    sweep = random_move(rng, 40, 2.0, 0.5)
    radii_m = rng.choice([0.0, 0.15, RADIUS_M], 40)
    found, nearest = sweep_clearance(shapes, sweep, radii_m, cap_m=3.0)
    for radius_m in np.unique(radii_m).tolist():
        some = radii_m == radius_m
        alone_m, alone = sweep_clearance(shapes, sweep, radius_m, cap_m=3.0)
        assert np.abs(found - alone_m)[some].max() < SWEEP_TOLERANCE_M
        assert (nearest == alone)[some].mean() > 0.9
    with pytest.raises(ValueError, match="finite radius"):
        sweep_clearance(shapes, sweep, np.full(40, -0.1))
