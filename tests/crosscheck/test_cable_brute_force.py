"""Cable runs against brute force over all walks, with the rules written down once more."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.graph.situation import Situation
from routing.limits import Limits
from routing.worksites.cables.runs import CableRuns, find_cable_runs
from structures.cables import Cable, CableTie, Connector
from structures.elements import Condition, Handrail, Zone
from structures.model import Structure
from structures.shapes import Sphere
from tests.draws import draws

RADIUS_M, SPACING_M, PLAY_M = 0.12, 1.3, 0.08
LIMITS = Limits(cable_play_m=PLAY_M, cable_slack_factor=1.0, cable_loose_m=100.0)
Point = tuple[float, float, float]
near = st.tuples(*[st.floats(-1.2, 1.2)] * 2, st.floats(-0.1, 0.1))


def scene(ties: list[Point], length_m: float = 50.0, **lists: object) -> Structure:
    return Structure.model_validate(
        {
            "name": "cables",
            "revision": "A",
            "connectors": (
                Connector(id="C1", position_m=(-1.6, 0, 0), normal=(1, 0, 0)),
                Connector(id="C2", position_m=(1.6, 0, 0), normal=(-1, 0, 0)),
            ),
            "cable_ties": tuple(
                CableTie(id=f"T{i}", position_m=at, stow_m=0.3 * i) for i, at in enumerate(ties)
            ),
            "cables": (
                Cable(id="K", length_m=length_m, bend_radius_m=RADIUS_M, spacing_m=SPACING_M),
            ),
        }
        | lists
    )


def lay(structure: Structure, **more: object) -> CableRuns:
    situation = Situation(limits=LIMITS, when=tuple(more.pop("when", ())))
    return find_cable_runs(structure, "K", ("C1", "C2"), situation, **more)


LEAD_M = 2 * RADIUS_M
PLUGS = {"C1": np.array([-1.6, 0, 0]), "C2": np.array([1.6, 0, 0])}
MOUTHS = {"C1": np.array([-1.6 + LEAD_M, 0, 0]), "C2": np.array([1.6 - LEAD_M, 0, 0])}


def turns(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
    u, v = b - a, c - b
    cosine = float(u @ v / np.linalg.norm(u) / np.linalg.norm(v))
    return math.acos(max(-1.0, min(1.0, cosine)))


def length_of(a: str, b: str, corners: list[np.ndarray]) -> float | None:
    """Return what a span takes, None if its own corners or the spacing forbid it."""
    sides = [float(np.linalg.norm(q - p)) for p, q in pairwise(corners)]
    if min(sides) < 1e-6:
        return None
    length = sum(sides)
    for i in range(1, len(corners) - 1):
        turn = turns(*corners[i - 1 : i + 2])
        if turn < 1e-7:
            continue
        first = 1.0 if a in PLUGS and i == 1 else 0.5
        last = 1.0 if b in PLUGS and i == len(corners) - 2 else 0.5
        if RADIUS_M * math.tan(turn / 2) > min(first * sides[i - 1], last * sides[i]):
            return None
        length += 2 * RADIUS_M * (1 / math.cos(turn / 2) - 1)
    return length if length <= SPACING_M else None


def corner_holds(before: list[np.ndarray], after: list[np.ndarray]) -> bool:
    turn = turns(before[-2], before[-1], after[1])
    if turn < 1e-7:
        return True
    room = min(
        float(np.linalg.norm(before[-1] - before[-2])), float(np.linalg.norm(after[1] - after[0]))
    )
    fits = RADIUS_M * math.tan(turn / 2) <= room / 2
    return fits and RADIUS_M * (1 / math.cos(turn / 2) - 1) <= PLAY_M


def brute(ties: list[Point]) -> float:
    """Return the least length by extending every walk over ties until none can be better."""
    points = {f"T{i}": np.array(at) for i, at in enumerate(ties)} | PLUGS

    def line(a: str, b: str) -> list[np.ndarray]:
        middle = [MOUTHS.get(a, points[a]), MOUTHS.get(b, points[b])]
        return [*([points[a]] if a in PLUGS else []), *middle, *([points[b]] if b in PLUGS else [])]

    lines = {(a, b): line(a, b) for a in points for b in points if a != b}
    lengths = {pair: length_of(*pair, some) for pair, some in lines.items()}
    best = math.inf
    walks: list[tuple[float, tuple[str, ...]]] = [(0.0, ("C1",))]
    while walks:
        length, walk = walks.pop()
        for there in set(points) - {walk[-1], "C1"}:
            step = lengths[walk[-1], there]
            if (
                step is None
                or length + step >= best
                or (walk[-1], there) in pairwise(walk)
                or (len(walk) > 1 and not corner_holds(lines[walk[-2:]], lines[walk[-1], there]))
            ):
                continue
            if there == "C2":
                best = length + step
            else:
                walks.append((length + step, (*walk, there)))
    return best


@settings(max_examples=draws(60))
@given(st.lists(near, min_size=1, max_size=5))
def test_least_length_against_all_walks(ties: list[Point]) -> None:
    found = lay(scene(ties))
    expected = brute(ties)
    if found.best is None:
        assert math.isinf(expected)
        assert found.reason
        return
    lengths = [run.length_m for run in (found.best, *found.others)]
    assert min(lengths) == pytest.approx(expected, abs=1e-9)
    assert lengths == sorted(lengths)


LINE = [(-0.8, 0.0, 0.0), (0.0, 0.0, 0.0), (0.8, 0.0, 0.0)]
ROUND = [(-0.9, 0.5, 0.0), (-0.3, 0.8, 0.0), (0.3, 0.8, 0.0), (0.9, 0.5, 0.0)]


def test_the_straight_run_and_what_it_needs() -> None:
    structure = scene(LINE)
    found = lay(structure)
    assert found.best is not None
    assert found.best.ties == ("T0", "T1", "T2")
    assert found.best.length_m == pytest.approx(3.2)
    cable = structure.cables[0].model_copy(update={"service_loop_m": 0.25, "length_m": 4.0})
    slack = Limits(cable_slack_factor=1.1)
    longer = scene(LINE, cables=(cable,))
    again = find_cable_runs(longer, "K", ("C1", "C2"), Situation(limits=slack)).best
    assert again is not None
    assert again.needed_m == pytest.approx(3.2 * 1.1 + 0.5)
    assert again.verdict == "too short"
    assert again.reason == "the cable is 20 mm too short: 4.02 m are needed"


def test_spare_goes_where_most_can_be_stowed() -> None:
    limits = Limits(cable_slack_factor=1.0)

    def run(length_m: float) -> CableRuns:
        return find_cable_runs(scene(LINE, length_m), "K", ("C1", "C2"), Situation(limits=limits))

    stowed = run(3.2 + 0.7).best
    assert stowed is not None
    assert [(one.tie, round(one.length_m, 6)) for one in stowed.stowed] == [
        ("T2", 0.6),
        ("T1", 0.1),
    ]
    assert stowed.verdict == "ok"
    loose = run(3.25).best
    assert loose is not None
    assert (loose.verdict, loose.stowed) == ("ok", ())
    much = run(3.2 + 1.2)
    assert much.best is not None
    assert much.best.verdict == "spare not stowed"
    assert not much.safe
    assert "1.20 m of cable are left over, and the ties on the way stow 0.90 m" in str(
        much.best.reason
    )


@pytest.mark.parametrize("applies", ["item", "tether"])
def test_zones_for_items_and_for_tethers_both_count(applies: str) -> None:
    ball = Sphere(center_m=(0.4, 0.0, 0.0), radius_m=0.2)
    zone = Zone(id="Z1", volume=ball, applies_to=(applies,), when=("on",))
    structure = scene(LINE + ROUND, zones=(zone,), conditions=(Condition(id="on"),))
    off, on = lay(structure), lay(structure, when=("on",))
    assert off.best is not None
    assert off.best.ties == ("T0", "T1", "T2")
    assert on.best is not None
    assert on.best.ties == ("T3", "T4", "T6")
    bodies = zone.model_copy(update={"applies_to": ("body",)})
    body = scene(LINE + ROUND, zones=(bodies,), conditions=(Condition(id="on"),))
    assert lay(body, when=("on",)) == lay(body)


def test_handrails_of_routes_are_not_crossed() -> None:
    rail = Handrail(id="H1", points_m=((0.4, -0.3, 0.1), (0.4, 0.3, 0.1)), normal=(0, 0, 1))
    structure = scene(LINE + ROUND, handrails=(rail,))
    free, clear = lay(structure), lay(structure, keep_clear=("H1",))
    assert free.best is not None
    assert clear.best is not None
    assert (free.best.ties, clear.best.ties) == (("T0", "T1", "T2"), ("T3", "T4", "T6"))
    assert clear.kept_clear == ("H1",)
    none = lay(scene(LINE, handrails=(rail,)), keep_clear=("H1",))
    assert none.best is None
    assert none.reason == (
        "no run from C1 to C2: without handrails to keep clear of (H1) there is one of 3.20 m"
    )


def test_reasons_for_no_run() -> None:
    assert "no tie is within 1.3 m of C1" in str(lay(scene([(1.0, 0, 0)])).reason)
    apart = lay(scene([(-0.9, 0, 0), (0.9, 0, 0)]))
    assert "no chain of ties at most 1.3 m apart leads there" in str(apart.reason)


def test_a_corner_that_cannot_be_rounded_takes_a_detour() -> None:
    # At T1 the way to T2 turns by 115 degrees: an arc of 0.12 m would be 0.10 m off the tie.
    sharp = [(-0.9, 0.0, 0.0), (-0.1, 1.0, 0.0), (0.45, -0.1, 0.0), (0.9, 0.0, 0.0)]
    none = lay(scene(sharp))
    assert none.best is None
    assert "without the bend radius there is one" in str(none.reason)
    rounded = lay(scene([*sharp, (0.3, 0.9, 0.0)]))
    assert rounded.best is not None
    assert rounded.best.ties[:3] == ("T0", "T1", "T4")
    assert all(
        span.bend_radius_m is None or span.bend_radius_m >= RADIUS_M for span in rounded.best.spans
    )


def test_same_connector_twice_is_refused() -> None:
    with pytest.raises(ValueError, match="leads nowhere"):
        find_cable_runs(scene(LINE), "K", ("C1", "C1"), Situation())
