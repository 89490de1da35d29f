"""Fetching the partner home: there, let go of the partner's own tether, and home in tow."""

from pathlib import Path
from typing import Any

import pytest

from routing.graph.reach_graph import ReachGraph
from routing.limits import Limits
from routing.outings.plan import PlannedOuting, work_out
from routing.outings.plan_file.reader import read_outing
from routing.outings.safety.let_go import PartnersLine
from routing.outings.safety.moments import Moment, moments_of
from routing.outings.safety.rescue import rescues_of
from routing.outings.safety.rescue_watch import with_rescues
from routing.outings.safety.safety_records import Rescue
from routing.outings.told.results import OutingAnswer
from routing.outings.translations import Ground, kit_of
from routing.paths.home.homeward import HomeGround, NoWayHomeError, home_from
from routing.paths.onward import NoWayOnError, Whereabouts, route_onward
from routing.paths.request import Request, solve
from routing.paths.tethers.stack import Stay
from structures.elements import Handrail, TetherPoint
from structures.model import Structure
from tests.routing.outings.outing_decks import act, on_deck, one_rail, wall
from tests.routing.paths.route_graphs import HANDS_M, UP, straight_rail

LEAPFROG: tuple[dict[str, Any], ...] = (
    {"id": "EV1", "protocol": "leapfrog"},
    {"id": "EV2", "protocol": "leapfrog"},
)
REELS: tuple[dict[str, Any], ...] = (
    {"id": "EV1", "reels_m": (20.0, 20.0)},
    {"id": "EV2", "reels_m": (20.0, 20.0)},
)
BOTH_OUT = (act("near", at="NEAR", minutes=60), act("far", who="EV2", at="FAR", minutes=60))


def worked_out(
    structure: Structure, people: tuple[dict[str, Any], ...] = REELS, **more: Any
) -> PlannedOuting:
    return on_deck(structure, *more.pop("acts", BOTH_OUT), people=people, **more)


def fetched(planned: PlannedOuting, rescuer: str = "EV1") -> Rescue:
    """Return the last stretch of time in which both are at acts, the longest on these decks."""
    every = rescues_of(planned.schedule, planned.ground, planned.stock)
    return [one.rescue for one in every if one.rescue.rescuer == rescuer][-1]


def told(planned: PlannedOuting) -> OutingAnswer:
    return with_rescues(planned.answer, planned.schedule, planned.ground, planned.stock)


def seconds_along(graph: ReachGraph, start: str, goal: str) -> float:
    """Return the least time over the rail, by plain relaxation over all moves."""
    number = {one: i for i, one in enumerate(graph.grips.ids)}
    best = [float("inf")] * len(number)
    best[number[start]] = 0.0
    moves = graph.moves
    for _ in number:
        for tail in range(len(best)):
            for at in range(int(moves.indptr[tail]), int(moves.indptr[tail + 1])):
                head = int(moves.head[at])
                best[head] = min(best[head], best[tail] + float(moves.seconds[at]))
    return best[number[goal]]


def test_under_leapfrog_it_is_there_two_transfers_and_home_in_tow() -> None:
    planned = worked_out(one_rail(), LEAPFROG)
    ground, found = planned.ground, fetched(planned)
    transfer_s = ground.limits.transfer_s
    there_s = seconds_along(ground.graph("EV1", None, ()), "H1@2.000", "H1@9.000")
    home_s = seconds_along(ground.tow_graph("EV1", ()), "H1@9.000", "A1")
    assert (found.rescuer_at, found.partner_at) == ("H1@2.000", "H1@9.000")
    assert found.there_s == pytest.approx(there_s)
    # From the rail to the hatch one hook goes over, with or without somebody in tow.
    assert found.seconds == pytest.approx(there_s + 2 * transfer_s + home_s + transfer_s)
    assert (found.verdict, found.let_go_at, found.on_the_way_m) == ("in time", None, 0.0)


def test_on_reels_the_line_is_let_go_at_once_where_a_tether_point_is_near() -> None:
    points = (
        TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
        TetherPoint(id="T2", position_m=(9.0, 0.3, 0.0), rating_n=3000.0),
    )
    planned = worked_out(one_rail(tether_points=points))
    ground, found = planned.ground, fetched(planned)
    there_s = seconds_along(ground.graph("EV1", None, ()), "H1@2.000", "H1@9.000")
    home_s = seconds_along(ground.tow_graph("EV1", ()), "H1@9.000", "A1")
    assert (found.let_go_at, found.on_the_way_m) == ("T2", 0.0)
    assert found.seconds == pytest.approx(there_s + ground.limits.transfer_s + home_s)


def test_a_point_that_is_not_rated_takes_no_end_of_a_line() -> None:
    points = (
        TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
        TetherPoint(id="T2", position_m=(9.0, 0.3, 0.0)),
    )
    assert fetched(worked_out(one_rail(tether_points=points))).let_go_at == "T1"


def test_on_reels_the_line_comes_along_to_the_next_tether_point() -> None:
    planned = worked_out(one_rail())
    ground, found = planned.ground, fetched(planned)
    transfer_s = ground.limits.transfer_s
    there_s = seconds_along(ground.graph("EV1", None, ()), "H1@2.000", "H1@9.000")
    home_s = seconds_along(ground.tow_graph("EV1", ()), "H1@9.000", "A1")
    assert found.let_go_at == "T1"
    assert found.on_the_way_m == pytest.approx(9.0, abs=0.5)
    assert found.seconds == pytest.approx(there_s + 2 * transfer_s + home_s)
    assert found.verdict == "in time"


def detour(room_m: float) -> Structure:
    """Make the deck with a beam over the rail, and a long way round it that is wide."""
    around = Handrail(
        id="H2",
        points_m=(
            (3.0, 0.4, HANDS_M),
            (3.0, 7.0, HANDS_M),
            (8.0, 7.0, HANDS_M),
            (8.0, 0.4, HANDS_M),
        ),
        normal=UP,
    )
    rails = (straight_rail("H1", 0.0, 10.0), around)
    return one_rail(handrails=rails, solids=(wall(5.5, room_m),))


def test_a_line_that_does_not_last_on_the_way_round_is_not_shown_to_be_let_go() -> None:
    """EV2 went through under the beam; two do not, and the way round is longer than the line."""
    short = ({"id": "EV1", "reels_m": (40.0, 40.0)}, {"id": "EV2", "reels_m": (13.0,)})
    planned = worked_out(detour(1.12), short)
    found = fetched(planned)
    assert (found.verdict, found.seconds) == ("not shown", None)
    assert found.why.startswith("not known is where EV2's own tether could be let go")
    said = [one for one in told(planned).findings if one.code == "rescue-not-shown"]
    assert [(one.person, one.severity) for one in said] == [("EV1", "warns")]
    assert "for 60 min" in said[0].message
    long = ({"id": "EV1", "reels_m": (40.0, 40.0)}, {"id": "EV2", "reels_m": (40.0,)})
    lasting = fetched(worked_out(detour(1.12), long))
    assert (lasting.verdict, lasting.let_go_at) == ("in time", "T1")
    assert lasting.on_the_way_m > 15.0


def test_where_the_quickest_way_there_leaves_no_line_for_home_a_wider_one_is_taken() -> None:
    """Through under the beam and home by the way round takes 30 m; out and back round 22 m."""
    people: tuple[dict[str, Any], ...] = (
        {"id": "EV1", "reels_m": (25.0,)},
        {"id": "EV2", "protocol": "leapfrog"},
    )
    planned = worked_out(detour(1.12), people)
    found = fetched(planned)
    tow = planned.ground.tow_graph("EV1", ())
    out_s = seconds_along(tow, "H1@2.000", "H1@9.000")
    home_s = seconds_along(tow, "H1@9.000", "A1")
    assert found.verdict == "in time"
    assert found.there_s == pytest.approx(out_s)
    transfers_s = 2 * planned.ground.limits.transfer_s
    assert found.seconds == pytest.approx(out_s + transfers_s + home_s)
    short = fetched(worked_out(detour(1.12), ({"id": "EV1", "reels_m": (15.0,)}, people[1])))
    assert (short.verdict, short.seconds) == ("not shown", None)
    assert short.why.startswith("not known is how EV1's own tethers reach home in tow")
    long = fetched(worked_out(detour(1.12), ({"id": "EV1", "reels_m": (40.0,)}, people[1])))
    assert long.there_s is not None
    assert long.there_s < out_s


def test_no_way_in_tow_names_what_is_in_the_way() -> None:
    planned = worked_out(one_rail(solids=(wall(5.0, 1.12),)))
    assert fetched(planned).verdict == "no way"
    answer = told(planned)
    said = [one for one in answer.findings if one.code == "no-rescue"]
    assert [one.person for one in said] == ["EV1"]
    assert "EV1 finds no way to fetch EV2 home for" in said[0].message
    assert "longest at H1@9.000" in said[0].message
    assert "beam" in said[0].elements
    assert answer.verdict != "planned and clean"
    # EV2 comes through alone, and from NEAR on there is room for two.
    assert fetched(planned, "EV2").verdict == "in time"


ROOM = "none with the reach of one (tow_reach_factor 1), all with the room of one (tow_envelope 0)"
REACH = "all with the reach of one (tow_reach_factor 1), none with the room of one (tow_envelope 0)"


def gap() -> Structure:
    """Make the deck with a gap that one person reaches over, and two do not."""
    limits = Limits()
    gap_m = limits.reach_m * (1 + limits.tow_reach_factor) / 2
    deck = one_rail(
        handrails=(straight_rail("H1", 0.0, 5.0), straight_rail("H2", 5.0 + gap_m, 10.0))
    )
    sites = tuple(
        one.model_copy(update={"handrail": "H2"}) if one.id == "FAR" else one
        for one in deck.worksites
    )
    return deck.model_copy(update={"worksites": sites})


@pytest.mark.parametrize(
    ("structure", "opened"), [(one_rail(solids=(wall(5.0, 1.12),)), ROOM), (gap(), REACH)]
)
def test_what_would_open_some_way_in_tow_is_told_over_all_ways(
    structure: Structure, opened: str
) -> None:
    both = tuple(
        one.message
        for one in told(worked_out(structure)).findings
        if one.code in {"no-rescue", "no-way-home-in-tow"}
    )
    assert len(both) == 2  # EV1 fetches EV2, and EV2 is on the far side
    assert all("over all ways, the hands of two would find one" in one for one in both)
    assert all(f": {opened}, all with both" in one for one in both)


def test_where_neither_alone_opens_a_way_both_do() -> None:
    """The beam stands behind the gap: reach is short for two at the one, room at the other."""
    structure = gap()
    beam = (*structure.solids, wall(7.0, 1.12))
    answer = told(worked_out(structure.model_copy(update={"solids": beam})))
    (said,) = (one.message for one in answer.findings if one.code == "no-rescue")
    assert "none with the reach of one (tow_reach_factor 1), none with the room of one " in said
    assert said.count("all with both") == 1


def test_too_late_is_told_with_the_longest_time() -> None:
    limits = worked_out(one_rail()).ground.limits.model_copy(update={"time_home_limit_s": 150.0})
    planned = worked_out(one_rail(), limits=limits)
    found = fetched(planned)
    assert found.seconds is not None
    assert found.verdict == "too late"
    said = [one for one in told(planned).findings if one.code == "rescue-too-late"]
    assert {one.person for one in said} == {"EV1", "EV2"}
    assert said[0].value == pytest.approx(found.seconds / 60.0)


def test_who_stands_in_a_restraint_gets_out_first(station: PlannedOuting) -> None:
    every = [one.rescue for one in rescues_of(station.schedule, station.ground, station.stock)]
    known = {
        (one.rescuer_act, one.partner_act): one.there_s
        for one in every
        if (one.rescuer, one.partner_at) == ("EV1", "H3002@1.250")
    }
    before_s, inside_s = known["r1-set-up", "wrench-out"], known["ev1-in", "wrench-out"]
    assert before_s is not None
    assert inside_s == pytest.approx(before_s + 4 * 60)  # act ev1-out takes 4 min


def test_who_is_on_the_way_goes_on_to_its_end_first() -> None:
    """EV2 waits at the hatch for EV1 to come to FAR, and is fetched from there."""
    planned = worked_out(one_rail(), LEAPFROG, acts=(act("far", at="FAR"), act("w", who="EV2")))
    ground = planned.ground
    every = [one.rescue for one in rescues_of(planned.schedule, ground, planned.stock)]
    going, there = [one for one in every if one.rescuer == "EV1"][:2]
    graph = ground.graph("EV1", None, ())
    transfer_s = ground.limits.transfer_s
    one_way_s = seconds_along(graph, "A1", "H1@9.000") + transfer_s
    assert (going.rescuer_at, going.partner_at, there.rescuer_at) == ("H1@9.000", "A1", "H1@9.000")
    assert going.until_s - going.from_s == pytest.approx(one_way_s)
    assert there.there_s == pytest.approx(one_way_s)
    assert going.there_s == pytest.approx(2 * one_way_s)
    # While EV1 is on the way nobody asks how EV2 would fetch EV1.
    others = [one for one in every if one.rescuer == "EV2"]
    assert others[0].from_s == pytest.approx(there.from_s)


def test_a_staged_tether_that_the_partner_is_on_is_not_to_be_had() -> None:
    """At T2 in the middle EV2 took the one staged; EV1's own line ends short of FAR."""
    points = (
        TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
        TetherPoint(id="T2", position_m=(5.0, 0.3, 0.0), rating_n=3000.0, staged_m=(20.0,)),
    )
    people: tuple[dict[str, Any], ...] = (
        {"id": "EV1", "reels_m": (8.0,)},
        {"id": "EV2", "reels_m": (8.0,)},
    )
    planned = worked_out(one_rail(tether_points=points), people)
    found = fetched(planned)
    assert found.verdict == "no way"
    assert found.why == "no way leads EV1 from H1@2.000 to H1@9.000 on the tethers that are left"
    points = (points[0], points[1].model_copy(update={"staged_m": (20.0, 20.0)}))
    assert fetched(worked_out(one_rail(tether_points=points), people)).verdict == "in time"


def test_a_plan_worked_out_without_it_says_so_and_one_with_it_says_when_not() -> None:
    planned = worked_out(one_rail())
    assert planned.answer.rescues is None
    (note,) = (one for one in planned.answer.findings if one.code == "rescue-not-looked-at")
    assert note.severity == "notes"
    assert note.message.startswith("NOT LOOKED AT: how one is fetched home by another, and where")
    answer = told(planned)
    assert answer.rescues
    (note,) = (one for one in answer.findings if one.code == "rescue-not-looked-at")
    assert note.message.startswith(
        "NOT LOOKED AT: how EV1 fetches EV2 in 2 min, EV2 fetches EV1 in 1 min "
    )
    assert "min in which the one to be fetched is on the way" in note.message


def test_alone_outside_there_is_nobody_to_fetch() -> None:
    planned = worked_out(one_rail(), acts=BOTH_OUT[:1], people=REELS[:1])
    answer = told(planned)
    assert answer.rescues is None
    assert "rescue-not-looked-at" not in {one.code for one in answer.findings}


def test_a_line_comes_in_only_back_along_its_lay() -> None:
    stay = Stay(point=0, tether=0, staged=False, grips=(0, 1, 2), payout_m=(0.3, 1.3, 2.3))
    line = PartnersLine(stay, ("a", "b", "c", "d"), 4.0)
    assert line.left_m == pytest.approx(1.7)
    line.follow("b", 1.0)
    assert line.payout_m == [0.3, 1.3]
    line.follow("d", 1.5)  # off the lay: out again
    assert line.grips == ["a", "b", "d"]
    assert line.left_m == pytest.approx(1.2)


@pytest.fixture(name="station", scope="module")
def station_outing() -> PlannedOuting:
    document = read_outing(Path(__file__).parents[3] / "examples" / "station" / "outing.toml")
    return work_out(document.outing, Ground(document.structure, document.outing, document.limits))


def at(moments: tuple[Moment, ...], at_s: float) -> Moment:
    return [one for one in moments if one.at_s <= at_s][-1]


def test_on_the_station_ways_are_those_of_single_routes(station: PlannedOuting) -> None:
    """Every fifth stretch again: one route to the partner, one way home from its end."""
    ground = station.ground
    people = {one.id: one for one in station.outing.people}
    moments = {
        one: moments_of(station.schedule, ground, station.stock, one) for one in sorted(people)
    }
    every = [one.rescue for one in rescues_of(station.schedule, ground, station.stock)]
    assert {one.verdict for one in every} == {"in time", "no way", "not shown"}
    looked = 0
    for rescue in every[::5]:
        person = people[rescue.rescuer]
        kit = kit_of(person, ground.limits)
        begins = at(moments[rescue.rescuer], rescue.from_s)
        partner = at(moments[rescue.partner], rescue.from_s)
        if ground.grips(rescue.rescuer).ids[begins.grip] != rescue.rescuer_at:
            continue  # on the way there
        assert begins.state is not None
        where = Whereabouts(site="", grip=begins.grip, tethers=(begins.state,), begun=True)
        graph = ground.graph(person.id, None, ())
        request = Request(start="", goal="", protocol="reel", kit=kit)
        try:
            there = route_onward(graph, where, (rescue.partner_at,), request=request)
        except NoWayOnError:
            assert rescue.there_s is None
            continue
        there_s = begins.get_out_s + there.route.totals.seconds
        assert rescue.there_s is not None
        assert rescue.there_s >= there_s - 1e-6
        towing = HomeGround(
            graph=ground.tow_graph(person.id, ()),
            protocol="reel",
            kit=kit,
            hatch="hatch",
            leave=True,
        )
        free = Request(start=rescue.partner_at, goal="hatch", protocol=None)
        assert (rescue.verdict == "no way") == (solve(towing.graph, free) is None)
        try:
            home_s = home_from(towing, there.ends.tethers[0]).seconds
        except NoWayHomeError:
            assert rescue.seconds is None or rescue.there_s > there_s  # a wider way there
            continue
        if rescue.seconds is None:
            continue
        hands = 1 if rescue.on_the_way_m == 0 else 2
        least_s = there_s + partner.get_out_s + hands * ground.limits.transfer_s + home_s
        assert rescue.seconds >= least_s - 1e-6
        if rescue.on_the_way_m == 0:
            assert rescue.seconds == pytest.approx(least_s)
            looked += 1
    assert looked > 2
