"""Places for bags against plain loops over every place, with distances worked out anew."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.worksites.bags.near_worksite import PLACE_STEP_M, BagAnswer, find_bag_places
from structures.elements import Handrail, Item, Person, Solid, Target, Worksite, Zone
from structures.model import Structure
from structures.shapes import Sphere
from tests.draws import draws

UP = (0.0, 0.0, -1.0)
BAG = Item(id="bag", size_m=(0.2, 0.2, 0.1), mass_kg=3.0)  # half its diagonal is 0.15 m
LIMITS = Limits(corridor_radius_m=0.3, max_lean_deg=0.0)
SITE = (0.0, 0.0, 0.0)
TARGET = (0.4, 0.0, 0.0)
Ball = tuple[tuple[float, float, float], float]


def scene(
    rails: list[tuple[float, float, float]],
    solids: list[Ball] | None = None,
    zones: list[Ball] | None = None,
    *,
    tender: bool = False,
    applies: tuple[str, ...] = ("item",),
) -> Structure:
    return Structure(
        name="bags",
        revision="A",
        handrails=(
            Handrail(id="H0", points_m=((-0.1, 0, 0), (0.1, 0, 0)), normal=UP),
            *(
                Handrail(id=f"H{i}", points_m=(at, (at[0] + 0.31, at[1], at[2])), normal=UP)
                for i, at in enumerate(rails, start=1)
            ),
        ),
        solids=tuple(
            Solid(id=f"S{i}", volume=Sphere(center_m=c, radius_m=r), kick_sensitive=tender)
            for i, (c, r) in enumerate(solids or [])
        ),
        zones=tuple(
            Zone.model_validate(
                {"id": f"Z{i}", "volume": Sphere(center_m=c, radius_m=r), "applies_to": applies}
            )
            for i, (c, r) in enumerate(zones or [])
        ),
        worksites=(
            Worksite(
                id="W",
                handrail="H0",
                place_m=SITE,
                targets=(Target(id="T", position_m=TARGET, facing=UP),),
            ),
        ),
    )


def answer(structure: Structure, *, clear: tuple[str, ...] = (), **more: object) -> BagAnswer:
    situation = Situation(limits=LIMITS, **more)
    return find_bag_places(build_graph(structure, situation), "W", BAG, keep_clear=clear)


def served(found: BagAnswer) -> dict[str, float]:
    return {place.handrail: place.reach_m for place in found.places}


def plain(structure: Structure, clear: tuple[str, ...]) -> dict[str, float]:
    """Return the least reach on each handrail that serves, place by place, rule by rule."""
    radius, hook, adrift = 0.15, 0.1, 0.1 + 0.3
    body = (0.0, 0.0, -0.3)
    ends = {rail.id: rail.points_m for rail in structure.handrails}
    best: dict[str, float] = {}
    for name, (start, end) in ends.items():
        steps = max(1, math.ceil(math.dist(start, end) / PLACE_STEP_M - 1e-9))
        for share in np.linspace(0, 1, steps + 1).tolist():
            at = [a + share * (b - a) for a, b in zip(start, end, strict=True)]
            rest = [at[0], at[1], at[2] - hook - radius]
            hands = [
                math.dist(hand, at)
                for hand in (SITE, TARGET)
                if math.dist(hand, at) <= LIMITS.reach_m
                and all(
                    _line_to(one.volume.center_m, hand, at) >= one.volume.radius_m - 1e-6
                    for one in structure.solids
                    if isinstance(one.volume, Sphere)
                )
            ]
            balls = [one.volume for one in structure.solids if isinstance(one.volume, Sphere)]
            zones = [one.volume for one in structure.zones if isinstance(one.volume, Sphere)]
            if (
                hands
                and all(math.dist(rest, b.center_m) >= b.radius_m + radius for b in balls)
                and math.dist(rest, body) >= radius + 0.3
                and math.dist(rest, TARGET) >= radius + 0.1
                and all(math.dist(at, b.center_m) >= b.radius_m + adrift for b in zones)
                and all(_line_to(at, *ends[one]) >= adrift + 6 * 0.0254 for one in clear)
            ):
                best[name] = min(*hands, best.get(name, math.inf))
    return best


def _line_to(point: object, start: object, end: object) -> float:
    p, a, b = (np.array(one, dtype=float) for one in (point, start, end))
    along = b - a
    length2 = float(along @ along)
    share = 0.0 if length2 == 0 else min(1.0, max(0.0, float((p - a) @ along) / length2))
    return float(np.linalg.norm(p - a - share * along))


near = st.tuples(st.floats(-0.9, 0.9), st.floats(-0.9, 0.9), st.floats(-0.3, 0.3))
ball = st.tuples(
    st.tuples(st.floats(-0.8, 0.8), st.floats(-0.8, 0.8), st.floats(0.2, 0.8)),
    st.floats(0.05, 0.15),
)


@settings(max_examples=draws(60))
@given(
    st.lists(near, min_size=1, max_size=5),
    st.lists(ball, max_size=3),
    st.lists(ball, max_size=1),
    st.booleans(),
)
def test_against_plain_loops(
    rails: list[tuple[float, float, float]],
    solids: list[Ball],
    zones: list[Ball],
    keep: bool,
) -> None:
    structure = scene(rails, solids, zones)
    clear = ("H1",) if keep else ()
    graph = build_graph(structure, Situation(limits=LIMITS))
    found = find_bag_places(graph, "W", BAG, keep_clear=clear)
    if found.reason is not None:
        return
    expected = plain(structure, clear)
    assert served(found) == pytest.approx(expected, abs=1e-9)
    reaches = [place.reach_m for place in found.places]
    assert reaches == sorted(reaches)
    assert not set(expected) & {one.handrail for one in found.others}


GOOD = (-0.2, 0.5, 0.0)


def test_each_rule_by_itself_says_why() -> None:
    assert set(served(answer(scene([GOOD])))) == {"H1"}

    def why(structure: Structure, **more: object) -> str:
        found = answer(structure, **more)
        assert "H1" not in served(found)
        return next(one.reason for one in found.others if one.handrail == "H1")

    assert "out of reach by" in why(scene([(-0.2, 0.75, 0.0)]))
    assert "solid S0 stands between the hands and it" in why(
        scene([(-0.35, 0.45, 0.0)], [((-0.15, 0.33, 0.2), 0.27)])
    )
    assert "into solid S0" in why(scene([GOOD], [((0.0, 0.8, -0.3), 0.25)]))
    assert "into the space of the person" in why(scene([(-0.1, 0.2, 0.0)]))
    assert "too near to what is worked on" in why(scene([(0.25, 0.05, 0.2)]))
    assert "get 8 mm into zone Z0" in why(scene([GOOD], None, [((0.0, 0.5, 0.45), 0.1)]))
    assert "could bump S0, which must not be kicked" in why(
        scene([GOOD], [((0.0, 0.5, 0.45), 0.1)], tender=True)
    )
    assert "could block H1, which a route uses" in why(scene([GOOD]), clear=("H1",))
    assert why(scene([GOOD]), closed=("H1",)) == "H1 is closed"


def test_zones_for_tethers_count_and_those_for_bodies_do_not() -> None:
    zones = [((0.0, 0.5, 0.45), 0.1)]
    assert not served(answer(scene([GOOD], None, zones, applies=("tether",))))
    assert served(answer(scene([GOOD], None, zones, applies=("body",))))


def test_a_longer_arm_reaches_more() -> None:
    far = scene([(-0.2, 0.68, 0.0)])
    assert not served(answer(far))
    longer = Person(id="EV", reach_m=0.75, corridor_radius_m=0.3)
    assert set(served(answer(far, person=longer))) == {"H1"}
