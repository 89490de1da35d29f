"""The records of a route: margins, stretches, JSON and its schema, provenance."""

import json
import math

import jsonschema
import numpy as np
import pytest

from routing.caution import CAUTION
from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS, Limits
from routing.paths.answers.records import heading
from routing.paths.answers.results import InputDigest, SiteRef
from routing.paths.course import course_of, move_between
from routing.paths.no_route.answer import NoRouteError
from routing.paths.route import RouteOptions, find_route, route_schema
from routing.version import gripway_version
from structures.elements import Condition, Solid, Zone
from structures.findings import Finding
from structures.frames import DIRECTIONS
from structures.model import Structure
from structures.shapes import Box
from tests.routing.paths.route_graphs import deck, straight_rail


def test_the_largest_gap_is_named_with_what_is_left_of_reach() -> None:
    gap = find_route(deck(), "A1", "W1").margins.gap
    assert gap is not None
    assert (gap.from_grip, gap.to_grip) == ("H2@2.600", "H3@0.000")
    assert gap.gap_m == pytest.approx(0.5)
    assert gap.reach_m == DEFAULT_LIMITS.reach_m
    assert gap.left_m == pytest.approx(DEFAULT_LIMITS.reach_m - 0.5)


@pytest.mark.parametrize("change_m", [1e-6, -1e-6])
def test_the_route_fails_below_the_reach_that_the_margin_names(change_m: float) -> None:
    gap = find_route(deck(), "A1", "W1").margins.gap
    assert gap is not None
    situation = Situation(limits=Limits(reach_m=gap.fails_below_reach_m + change_m))
    options = RouteOptions(situation=situation, explain=False)
    if change_m > 0:
        assert find_route(deck(), "A1", "W1", options=options).totals.transfers == 3
    else:
        with pytest.raises(NoRouteError):
            find_route(deck(), "A1", "W1", options=options)


def test_the_tightest_clearance_is_against_the_floor_by_the_standoff() -> None:
    # Upright on a flat floor the ball's skin is at hand height: 0.07 m off it.
    tight = find_route(deck(), "A1", "W1").margins.clearance
    assert tight is not None
    assert (tight.solid, tight.zone) == ("floor", None)
    assert tight.clearance_m == pytest.approx(0.07, abs=1e-3)
    assert tight.clearance_m <= 0.07 + 1e-9
    assert tight.corridor_radius_m == DEFAULT_LIMITS.corridor_radius_m


def beside(y_m: float) -> Box:
    """A box beside the rail at x = 8, as high as the body, its face at this distance."""
    return Box(center_m=(8.0, y_m + 0.25, -0.6), size_m=(0.5, 0.5, 1.0))


def test_the_tightest_clearance_names_a_box_or_a_zone_near_by() -> None:
    # The ball's centre passes above the rail: radius plus room from it to the face.
    # Next to a solid people lean away below 5 cm of room; a zone moves nobody aside.
    for kind, room_m in (("solid", 0.055), ("zone", 0.02)):
        y_m = DEFAULT_LIMITS.corridor_radius_m + room_m
        structure = deck()
        lists: dict[str, object] = (
            {"solids": (*structure.solids, Solid(id="BOX", volume=beside(y_m)))}
            if kind == "solid"
            else {"zones": (Zone(id="BOX", volume=beside(y_m)),)}
        )
        route = find_route(deck(**lists), "A1", "W1")
        tight = route.margins.clearance
        assert tight is not None
        assert getattr(tight, kind) == "BOX"
        assert room_m - 1e-3 - 1e-9 <= tight.clearance_m <= room_m + 1e-9
        assert ("corridor-tight" in {f.code for f in route.findings}) == (kind == "zone")


def test_zones_that_do_not_count_leave_the_clearance_alone() -> None:
    y_m = DEFAULT_LIMITS.corridor_radius_m + 0.02
    hot = Zone(id="Z", volume=beside(y_m), when=("radar",))
    structure = deck(zones=(hot,), conditions=(Condition(id="radar"),))
    off = find_route(structure, "A1", "W1").margins.clearance
    on = find_route(
        structure, "A1", "W1", options=RouteOptions(situation=Situation(when=("radar",)))
    )
    assert off is not None
    assert off.solid == "floor"
    assert on.margins.clearance is not None
    assert on.margins.clearance.zone == "Z"
    assert on.situation.when == ("radar",)


def test_slow_down_zones_are_exposure_and_stand_at_the_hand_overs() -> None:
    zone = Zone(
        id="SLOW",
        kind="slow-down",
        volume=Box(center_m=(9.0, 0.0, -0.6), size_m=(1.0, 0.5, 0.5)),
        slow_factor=3.0,
    )
    plain, slow = find_route(deck(), "A1", "W1"), find_route(deck(zones=(zone,)), "A1", "W1")
    inside = [over for over in slow.hand_overs if over.slow_zones]
    assert inside
    assert all(over.slow_zones == ("SLOW",) for over in inside)
    assert all((over.exposure_s > 0) == bool(over.slow_zones) for over in slow.hand_overs)
    assert slow.totals.exposure_s == pytest.approx(sum(over.seconds for over in inside))
    assert slow.totals.slow_s == pytest.approx(slow.totals.exposure_s * 2 / 3)
    assert slow.totals.seconds == pytest.approx(plain.totals.seconds + slow.totals.slow_s)
    assert plain.totals.exposure_s == 0


@pytest.mark.parametrize(("distance_m", "told"), [(0.6, True), (0.62, False)])
def test_kick_sensitive_hardware_counts_within_24_inches(distance_m: float, told: bool) -> None:
    # 24 in = 0.6096 m (SSP 30256:001 Rev F table 3.1.3-1 sheet 2, page 3-5).
    box = Box(center_m=(8.0, distance_m + 0.25, -0.07), size_m=(0.5, 0.5, 0.1))
    solids = (*deck().solids, Solid(id="GLASS", volume=box, kick_sensitive=True))
    route = find_route(deck(solids=solids), "A1", "W1")
    found = [f for f in route.findings if f.code == "kick-sensitive-near"]
    assert [f.elements for f in found] == ([("GLASS",)] if told else [])
    quiet = (*deck().solids, Solid(id="GLASS", volume=box))
    route = find_route(deck(solids=quiet), "A1", "W1")
    assert "kick-sensitive-near" not in {f.code for f in route.findings}


def test_a_gap_close_to_reach_is_pointed_out() -> None:
    for reach_m, told in ((0.52, True), (0.53, False)):
        situation = Situation(limits=Limits(reach_m=reach_m))
        route = find_route(deck(), "A1", "W1", options=RouteOptions(situation=situation))
        found = [f for f in route.findings if f.code == "gap-near-reach"]
        assert [f.elements for f in found] == ([("H2", "H3")] if told else [])
        assert route.safe


def named(note: Finding) -> list[str]:
    """The limits that a note names, by their keys in a file."""
    return note.message.partition(": ")[2].partition(";")[0].split(", ")


def test_limits_that_nobody_confirmed_are_named() -> None:
    (note,) = [
        f for f in find_route(deck(), "A1", "W1").findings if f.code == "limits-not-confirmed"
    ]
    assert "reach" in named(note)
    situation = Situation(limits=Limits(reach_m=0.6))
    own = find_route(deck(), "A1", "W1", options=RouteOptions(situation=situation))
    (note,) = [f for f in own.findings if f.code == "limits-not-confirmed"]
    assert "reach" not in named(note)
    assert "hook_reach" in named(note)


def test_headings_are_the_trade_directions() -> None:
    for name, direction in DIRECTIONS.items():
        there = (1.0 + direction[0], 2.0 + direction[1], 3.0 + direction[2])
        assert heading((1.0, 2.0, 3.0), there) == name
    assert heading((0.0, 0.0, 0.0), (0.0, 0.0, 0.0)) is None
    assert heading((0.0, 0.0, 0.0), (1.0, 1.0, 1.0)) == "forward"


def test_json_follows_the_published_schema() -> None:
    schema = route_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema)
    zone = Zone(id="Z", volume=Box(center_m=(8.0, 0.0, -0.6), size_m=(0.5, 0.5, 0.5)))
    for protocol in ("leapfrog", "reel"):
        route = find_route(deck(), "A1", "W1", via=("W2", "H1"), protocol=protocol)
        check.validate(json.loads(json.dumps(route.to_document(), allow_nan=False)))
        with pytest.raises(NoRouteError) as caught:
            find_route(deck(zones=(zone,)), "A1", "W1", protocol=protocol)
        check.validate(json.loads(json.dumps(caught.value.answer.to_document(), allow_nan=False)))
    wrong = route.to_document() | {"seconds": 3}
    assert not check.is_valid(wrong)
    assert not check.is_valid({k: v for k, v in route.to_document().items() if k != "caution"})


def test_sites_stand_under_what_they_are() -> None:
    document = find_route(deck(), "A1", "W1", via=("W2", "T2", "H3", "H3@0.250")).to_document()
    assert document["start"] == {"hatch": "A1"}
    assert document["goal"] == {"worksite": "W1"}
    assert document["via"] == [
        {"worksite": "W2"},
        {"tether_point": "T2"},
        {"handrail": "H3"},
        {"grip": "H3@0.250"},
    ]
    assert find_route(deck(), "S1", "W2").to_document()["start"] == {"socket": "S1"}
    assert SiteRef(worksite="W1").kind == "worksite"


def test_answers_say_where_they_are_from() -> None:
    inputs = (InputDigest(name="deck.toml", sha256="ab" * 32),)
    situation = Situation(limits=Limits(gap_s=3.0), closed=("T2",))
    route = find_route(deck(), "A1", "W1", options=RouteOptions(inputs=inputs, situation=situation))
    document = route.to_document()
    assert document["structure"] == {"name": "deck", "revision": "A", "date": ""}
    assert document["inputs"] == [{"name": "deck.toml", "sha256": "ab" * 32}]
    assert document["gripway"] == gripway_version()
    assert document["limits_changed"] == {"gap_s": {"value": 3.0, "default": 2.0}}
    assert document["situation"]["closed"] == ["T2"]
    assert document["caution"] == CAUTION


def test_the_same_question_gives_the_same_bytes() -> None:
    first, second = (
        json.dumps(find_route(deck(), "A1", "W1", via=("H1",)).to_document()) for _ in range(2)
    )
    assert first == second


def test_moves_are_looked_up_and_a_missing_one_is_an_error() -> None:
    graph = build_graph(deck(), Situation())
    ids = graph.grips.ids
    a, b = ids.index("H1@3.000"), ids.index("H2@0.000")
    move = move_between(graph, a, b)
    assert graph.moves.head[move] == b
    assert graph.moves.indptr[a] <= move < graph.moves.indptr[a + 1]
    with pytest.raises(LookupError, match=r"no move leads from H1@0\.000"):
        move_between(graph, ids.index("H1@0.000"), b)
    assert course_of(graph, [a]).moves == ()


def test_stretches_and_hand_overs_make_up_the_whole_way() -> None:
    rails = (
        straight_rail("H1", 0.0, 3.0),
        straight_rail("H2", 3.0, 6.0, y_m=0.3),
        straight_rail("H3", 6.5, 12.0),
    )
    route = find_route(deck(handrails=rails, worksites=()), "A1", "S1")
    between = [over for over in route.hand_overs if over.changes_rail]
    total_m = math.fsum([*(s.way_m for s in route.handrails), *(o.way_m for o in between)])
    assert total_m == pytest.approx(route.totals.distance_m, abs=1e-9)
    for stretch in route.handrails:
        on_it = route.grips[stretch.first_grip : stretch.last_grip + 1]
        assert {place.id for place in on_it} == {stretch.id}
    steps = np.diff([s.first_grip for s in route.handrails])
    assert (steps > 0).all()


def test_structure_names_of_elements_are_told() -> None:
    rails = (
        straight_rail("H1", 0.0, 3.0, name="Long one"),
        *deck().handrails[1:],
    )
    route = find_route(deck(handrails=rails), "A1", "W1")
    assert route.handrails[1].name == "Long one"
    assert isinstance(deck(), Structure)
