"""Chain search against dense samples along rails and an independent length formula.

The reference measures lines round one long cylinder by the closed form of
worked example W12 (tangents and arc in the plane, then the height), which
shares no code with the search.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from routing.graph.situation import Situation
from routing.limits import Limits
from routing.worksites.ties.best_first import TIE_WITHIN_M
from routing.worksites.ties.chains import find_chains
from routing.worksites.ties.kit import TetherKit
from routing.worksites.ties.records import AttachChain
from structures.elements import AttachPoint, Handrail, Socket, Solid, Worksite, Zone
from structures.equipment import EquipmentTether
from structures.model import Structure
from structures.polylines import Polyline
from structures.shapes import Box, Cylinder, Sphere
from tests.draws import draws

UP = (0.0, 0.0, -1.0)
DRUM = Cylinder(start_m=(0, 0, -60), end_m=(0, 0, 60), radius_m=1)
DENSE_M = 0.005

Point = tuple[float, float, float]
Floats = NDArray[np.float64]


def outside(low: float, high: float) -> st.SearchStrategy[Point]:
    """Draw points outside the drum."""
    return st.tuples(st.floats(low, high), st.floats(-math.pi, math.pi), st.floats(-2.0, 2.0)).map(
        lambda p: (p[0] * math.cos(p[1]), p[0] * math.sin(p[1]), p[2])
    )


@st.composite
def rail_beside(draw: st.DrawFn, rail_id: str) -> Handrail:
    """Draw a straight rail that does not enter the drum."""
    start = draw(outside(1.05, 4.0))
    around = math.atan2(start[1], start[0])
    tilt = draw(st.floats(-1.2, 1.2))
    length_m = draw(st.floats(0.3, 2.5))
    out = draw(st.floats(0.0, 0.5))
    way = np.array(
        [
            -math.sin(around) * math.cos(tilt) + out * math.cos(around),
            math.cos(around) * math.cos(tilt) + out * math.sin(around),
            math.sin(tilt),
        ]
    )
    end = np.array(start) + way * length_m
    return Handrail(id=rail_id, points_m=(start, tuple(end.tolist())), normal=UP)


@st.composite
def scenes(draw: st.DrawFn) -> Structure:
    rails = tuple(draw(rail_beside(f"R{i}")) for i in range(draw(st.integers(1, 4))))
    held = draw(outside(1.02, 4.0))
    seated = draw(outside(1.02, 4.0))
    attach = AttachPoint(id="a", held_m=held, seated_m=seated)
    return Structure(
        name="random",
        revision="A",
        solids=(Solid(id="drum", volume=DRUM),),
        handrails=rails,
        sockets=(Socket(id="S1", position_m=(9, 9, 9), normal=UP, clock_zero=(1, 0, 0)),),
        worksites=(Worksite(id="W1", socket="S1", attach=(attach,)),),
    )


TETHERS = st.tuples(st.floats(0.1, 0.8), st.floats(1.0, 2.0)).map(
    lambda p: EquipmentTether(id="t", cinched_m=p[0], extended_m=p[1], rating_n=400.0)
)


def only_chain(structure: Structure, tether: EquipmentTether) -> AttachChain:
    return find_chains(
        structure, Situation(limits=Limits(max_chain=4)), kit=TetherKit.of([tether])
    )[0].attach[0]


def taut_m(points: Floats, to: Point) -> Floats:
    """Compute W12 lengths round the drum of radius 1 from points (n, 3)."""
    d1, d2 = np.hypot(points[:, 0], points[:, 1]), math.hypot(to[0], to[1])
    apart = np.abs(np.arctan2(points[:, 1], points[:, 0]) - math.atan2(to[1], to[0]))
    theta = np.minimum(apart, 2 * np.pi - apart)
    arc = theta - np.arccos(1 / d1) - np.arccos(1 / d2)
    plane = np.where(
        arc > 0,
        np.sqrt(d1**2 - 1) + math.sqrt(d2**2 - 1) + arc,
        np.hypot(points[:, 0] - to[0], points[:, 1] - to[1]),
    )
    return np.hypot(plane, points[:, 2] - to[2])


def dense_margins(structure: Structure, tether: EquipmentTether, count: int) -> dict[str, float]:
    """Compute the best margin on each rail over samples `DENSE_M` apart."""
    attach = structure.worksites[0].attach[0]
    found = {}
    for rail in structure.handrails:
        line = Polyline.through(rail.points_m)
        points = line.points_at(line.samples_m(DENSE_M))
        lengths = np.stack([taut_m(points, attach.held_m), taut_m(points, attach.seated_m)])
        margins = np.minimum(
            count * tether.extended_m - lengths, lengths - count * tether.cinched_m
        )
        found[rail.id] = float(margins.min(axis=0).max())
    return found


@settings(max_examples=draws(50))
@given(scenes(), TETHERS)
def test_against_dense_samples(structure: Structure, tether: EquipmentTether) -> None:
    found = only_chain(structure, tether)
    best = {n: max(dense_margins(structure, tether, n).values()) for n in range(1, 5)}
    surely = [n for n, margin in best.items() if margin > TIE_WITHIN_M + 1e-5]
    if found.tethers is None:
        assert not surely, best
        return
    # Never more tethers than the reference, save where it fits by less than the bound.
    assert all(found.tethers <= n for n in surely), best
    # Never optimistic: the place found really has that margin, by the closed form.
    attach = structure.worksites[0].attach[0]
    rail = structure.by_id[str(found.handrail)]
    assert isinstance(rail, Handrail)
    assert found.along_m is not None
    assert found.margin_m is not None
    at = Polyline.through(rail.points_m).points_at(np.array([found.along_m]))
    for needed, to in ((found.held_m, attach.held_m), (found.seated_m, attach.seated_m)):
        true_m = float(taut_m(at, to)[0])
        assert needed == pytest.approx(true_m, abs=3e-6)
        low, high = found.tethers * tether.cinched_m, found.tethers * tether.extended_m
        assert low - 1e-8 <= true_m <= high + 1e-8
        assert found.margin_m <= min(high - true_m, true_m - low) + 1e-8
    assert best[found.tethers] - TIE_WITHIN_M - 1e-5 <= found.margin_m
    assert found.margin_m <= best[found.tethers] + DENSE_M


@settings(max_examples=draws(25))
@given(scenes(), TETHERS, st.floats(0.01, 0.5))
def test_longer_tethers_never_need_more(
    structure: Structure, tether: EquipmentTether, more_m: float
) -> None:
    found = only_chain(structure, tether)
    longer = tether.model_copy(update={"extended_m": tether.extended_m + more_m})
    again = only_chain(structure, longer)
    if found.tethers is not None:
        assert again.tethers is not None
        assert again.tethers <= found.tethers


@settings(max_examples=draws(12))
@given(scenes(), TETHERS, outside(1.0, 4.0), st.floats(0.05, 0.8))
def test_one_more_zone_never_improves(
    structure: Structure, tether: EquipmentTether, at: Point, radius_m: float
) -> None:
    zone = Zone(id="Z1", volume=Sphere(center_m=at, radius_m=radius_m), applies_to=("tether",))
    found = only_chain(structure, tether)
    again = only_chain(structure.model_copy(update={"zones": (zone,)}), tether)
    if again.tethers is not None:
        assert found.tethers is not None
        assert found.tethers <= again.tethers
        assert again.margin_m is not None
        assert found.margin_m is not None
        if found.tethers == again.tethers:
            assert again.margin_m <= found.margin_m + TIE_WITHIN_M


@settings(max_examples=draws(15))
@given(scenes(), TETHERS)
def test_order_of_rails_does_not_matter(structure: Structure, tether: EquipmentTether) -> None:
    turned = structure.model_copy(update={"handrails": structure.handrails[::-1]})
    assert only_chain(turned, tether) == only_chain(structure, tether)


@settings(max_examples=draws(10))
@given(st.integers(0, 10_000))
def test_many_solids_are_never_optimistic(seed: int) -> None:
    """Between boxes and a drum every chain found is at least as long as straight, and real."""
    from structures.solids.sight import crosses_any
    from structures.solids.taut import shortest_way

    random = np.random.default_rng(seed)
    boxes = tuple(
        Box(center_m=tuple(c), size_m=tuple(s))
        for c, s in zip(
            random.uniform(-2, 2, (3, 3)).tolist(),
            random.uniform(0.3, 1.2, (3, 3)).tolist(),
            strict=True,
        )
    )
    shapes = (*boxes, DRUM)
    ends = random.uniform(-3, 3, (4, 2, 3))
    rails = tuple(
        Handrail(id=f"R{i}", points_m=(tuple(a), tuple(b)), normal=UP)
        for i, (a, b) in enumerate(ends.tolist())
        if not crosses_any(shapes, np.array([a]), np.array([b])).any()
    )
    x, y, z = random.uniform(1.5, 3, 3).tolist()
    attach = AttachPoint(id="a", held_m=(x, y, z), seated_m=(x, y, z - 1))
    structure = Structure(
        name="random",
        revision="A",
        solids=tuple(Solid(id=f"B{i}", volume=shape) for i, shape in enumerate(shapes)),
        handrails=rails,
        sockets=(Socket(id="S1", position_m=(9, 9, 9), normal=UP, clock_zero=(1, 0, 0)),),
        worksites=(Worksite(id="W1", socket="S1", attach=(attach,)),),
    )
    tether = EquipmentTether(id="t", cinched_m=0.2, extended_m=1.6, rating_n=400.0)
    found = only_chain(structure, tether)
    if found.tethers is None or found.along_m is None:
        return
    rail = next(rail for rail in rails if rail.id == found.handrail)
    at = Polyline.through(rail.points_m).points_at(np.array([found.along_m]))[0]
    for needed, to in ((found.held_m, attach.held_m), (found.seated_m, attach.seated_m)):
        assert needed is not None
        # Fewer solids never make the shortest way longer; all of them decide.
        way = shortest_way(shapes, tuple(at.tolist()), to)
        lower = way.length_m - 1e-6 if way.exact else math.dist(at.tolist(), to)
        assert needed >= lower - 1e-9
        assert needed <= found.tethers * tether.extended_m + 1e-9
