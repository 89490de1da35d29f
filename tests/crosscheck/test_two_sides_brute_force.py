"""Two people on one payload: every pair of chains at every place, by plain loops."""

import math
from itertools import combinations, product

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.graph.situation import Situation
from routing.limits import Limits
from routing.worksites.ties.details import TieDetails, tie_details
from routing.worksites.ties.kit import TetherKit
from routing.worksites.ties.two_sides import PLACE_STEP_M
from structures.elements import AttachPoint, Handrail, Socket, Worksite, Zone
from structures.equipment import EquipmentTether
from structures.model import Structure
from structures.polylines import Polyline
from structures.shapes import Sphere
from tests.draws import draws

UP = (0.0, 0.0, -1.0)
KIT = (
    EquipmentTether(id="A", cinched_m=0.3, extended_m=1.3, rating_n=400.0, count=2),
    EquipmentTether(id="B", cinched_m=0.5, extended_m=2.2, rating_n=400.0, count=1),
)
Point = tuple[float, float, float]
near = st.tuples(*[st.floats(-2.0, 2.0)] * 3)


def scene(
    rails: list[tuple[Point, Point]],
    attach: list[tuple[Point, Point]],
    zones: tuple[Zone, ...] = (),
) -> Structure:
    return Structure(
        name="random",
        revision="A",
        handrails=tuple(
            Handrail(id=f"R{i}", points_m=ends, normal=UP) for i, ends in enumerate(rails)
        ),
        sockets=(Socket(id="S1", position_m=(9, 9, 9), normal=UP, clock_zero=(1, 0, 0)),),
        worksites=(
            Worksite(
                id="W1",
                socket="S1",
                attach=tuple(
                    AttachPoint(id=f"a{i}", held_m=held, seated_m=seated)
                    for i, (held, seated) in enumerate(attach)
                ),
            ),
        ),
        zones=zones,
    )


def details(structure: Structure) -> TieDetails:
    limits = Limits(max_chain=2)
    return tie_details(structure, "W1", Situation(limits=limits), kit=TetherKit.of(KIT))


def brute(structure: Structure) -> tuple[int, float] | None:
    """Return the fewest tethers and the greatest least margin, by loops over everything."""
    series = [used for used in product(range(3), range(2)) if 0 < sum(used) <= 2]
    places = []
    for rail in structure.handrails:
        line = Polyline.through(rail.points_m)
        places += [(rail.id, p) for p in line.points_at(line.samples_m(PLACE_STEP_M))]
    attach = structure.worksites[0].attach
    ends = [(one, one) for one in attach] if len(attach) == 1 else list(combinations(attach, 2))
    best: tuple[int, float] | None = None
    for (first, second), (rail, p), (other, q) in product(ends, places, places):
        if rail == other:
            continue
        opposed = all(
            np.dot(p - np.array(a), q - np.array(b)) <= 1e-12
            for a, b in ((first.held_m, second.held_m), (first.seated_m, second.seated_m))
        )
        if not opposed:
            continue
        for mine, yours in product(series, series):
            if mine[0] + yours[0] > 2 or mine[1] + yours[1] > 1:
                continue
            margin = min(_margin(p, first, mine), _margin(q, second, yours))
            if margin < 0:
                continue
            here = (-sum(mine) - sum(yours), margin)
            if best is None or here > best:
                best = here
    return best


def _margin(place: np.ndarray, point: AttachPoint, used: tuple[int, ...]) -> float:
    low = sum(n * one.cinched_m for n, one in zip(used, KIT, strict=True))
    high = sum(n * one.extended_m for n, one in zip(used, KIT, strict=True))
    lengths = [math.dist(place, to) for to in (point.held_m, point.seated_m)]
    return min(high - max(lengths), min(lengths) - low)


@settings(max_examples=draws(30))
@given(
    st.lists(st.tuples(near, near).filter(lambda e: math.dist(*e) > 0.05), min_size=2, max_size=3),
    st.lists(st.tuples(near, near), min_size=1, max_size=2),
)
def test_two_people_against_all_pairs(
    rails: list[tuple[Point, Point]], attach: list[tuple[Point, Point]]
) -> None:
    structure = scene(rails, attach)
    found = details(structure)
    if len(found.chains) < len(attach):
        return
    expected = brute(structure)
    if found.by_two is None:
        assert expected is None
        assert found.by_two_reason
        return
    assert expected is not None
    chains = found.by_two.chains
    assert chains[0].handrail != chains[1].handrail
    used = [part for chain in chains for part in chain.chain]
    assert all(
        sum(part.count for part in used if part.tether == one.id) <= (one.count or 0) for one in KIT
    )
    assert sum(part.count for part in used) == -expected[0]
    assert math.isclose(found.by_two.margin_m, expected[1], abs_tol=1e-6)
    assert min(found.by_two.held_deg, found.by_two.seated_deg) >= 90 - 1e-6


def test_the_best_pair_gives_way_where_a_zone_is() -> None:
    # Two rails on each side at 1.0 and 1.4 m; the nearer ones have more margin.
    at = [((0.0, 0.0, 0.0), (0.0, 0.0, 0.0))]
    rails = [((x, -0.1, 0.0), (x, 0.1, 0.0)) for x in (-1.4, -0.8, 0.8, 1.4)]
    free = details(scene(rails, at))
    assert free.by_two is not None
    assert {chain.handrail for chain in free.by_two.chains} == {"R1", "R2"}
    zone = Zone(id="Z1", volume=Sphere(center_m=(0.5, 0.0, 0.3), radius_m=0.25))
    clear = details(scene(rails, at, (zone,)))
    assert clear.by_two is not None
    assert {chain.handrail for chain in clear.by_two.chains} == {"R1", "R2"}
    ball = Zone(id="Z1", volume=Sphere(center_m=(0.5, 0.0, 0.0), radius_m=0.25))
    cut = details(scene(rails, at, (ball,)))
    assert cut.by_two is None
    assert cut.by_two_reason is not None
    assert "pull 90 deg or more apart" in cut.by_two_reason
    assert {drift.heading for drift in cut.drifts} == {"aft"}
