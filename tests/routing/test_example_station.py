"""What the station example was laid out to show, each intent by its ids."""

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from routing.graph.build import build_graph
from routing.graph.reach_findings import inspect_reach
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import Route
from routing.paths.no_route.answer import NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from routing.worksites.ties.chains import find_chain, find_chains
from routing.worksites.ties.kit import TetherKit
from routing.worksites.ties.records import WorksiteChain
from structures.elements import Item, Person
from structures.files import read_structure
from structures.model import Structure
from structures.units import FOOT_M

EXAMPLE = Path(__file__).parents[2] / "examples" / "station" / "station.toml"

LONG_M = 85 * FOOT_M
SHORT_M = 55 * FOOT_M
TWO_LONG = (LONG_M, LONG_M)

Go = Callable[..., Route | None]


@pytest.fixture(scope="module")
def station() -> Structure:
    return read_structure(EXAMPLE)


@pytest.fixture(scope="module")
def graph_in(station: Structure) -> Callable[..., ReachGraph]:
    @cache
    def build(
        *,
        when: tuple[str, ...] = (),
        closed: tuple[str, ...] = (),
        person: str | None = None,
        carry: str | None = None,
    ) -> ReachGraph:
        who, what = station.by_id.get(person or ""), station.by_id.get(carry or "")
        situation = Situation(
            when=when,
            closed=closed,
            person=who if isinstance(who, Person) else None,
            carry=what if isinstance(what, Item) else None,
        )
        return build_graph(station, situation)

    return build


@pytest.fixture(scope="module")
def go(graph_in: Callable[..., ReachGraph]) -> Go:
    def route(
        goal: str, *, start: str = "hatch", kit: tuple[float, ...] = TWO_LONG, **situation: object
    ) -> Route | None:
        options = RouteOptions(kit=Kit(reels_m=kit), explain=False)
        graph = graph_in(**situation)
        try:
            return find_route(graph, start, goal, protocol="reel", options=options)
        except NoRouteError:
            return None

    return route


@pytest.fixture(scope="module")
def chains(station: Structure) -> dict[str, WorksiteChain]:
    return {chain.worksite: chain for chain in find_chains(station, Situation())}


def seconds(route: Route | None) -> float:
    assert route is not None
    return route.totals.seconds


def rails(route: Route | None) -> set[str]:
    assert route is not None
    return {stretch.id for stretch in route.handrails}


def stays(route: Route | None) -> list[str]:
    assert route is not None
    return [transfer.id for transfer in route.transfers]


def test_nearly_all_grips_have_room_and_hang_together(
    graph_in: Callable[..., ReachGraph],
) -> None:
    graph = graph_in()
    assert len(graph.grips) > 2000
    assert graph.grips.usable.mean() > 0.95
    findings = inspect_reach(graph)
    # The floating rail hangs on nothing, and the one with its normal inward is of no use.
    assert [f.elements for f in findings if f.code == "island"] == [("H1117",)]
    assert [f.elements[0] for f in findings if f.code == "no-body-place"] == ["H1118"]
    assert not {"site-unreached", "hatch-cut-off", "tether-point-unreached"} & {
        finding.code for finding in findings
    }


def test_every_worksite_answers_from_the_hatch(station: Structure, go: Go) -> None:
    for worksite in station.worksites:
        route = go(worksite.id)
        assert route is not None, worksite.id
        assert route.safe, worksite.id


def test_a_gap_just_over_reach_forces_a_detour_to_the_berth(
    graph_in: Callable[..., ReachGraph], go: Go
) -> None:
    near = [f for f in inspect_reach(graph_in()) if f.code == "near-miss"]
    gap = next(f for f in near if set(f.elements) == {"H1023", "H1203"})
    assert gap.value == pytest.approx(0.651, abs=1e-3)
    small, large = go("W11"), go("W11", person="ev-large")
    assert "H1203" not in rails(small)
    assert "H1203" in rails(large)
    assert seconds(small) > seconds(large) + 50


def test_the_radar_counts_only_while_it_transmits(go: Go) -> None:
    off, on = go("W11"), go("W11", when=("radar-on",))
    assert seconds(on) > seconds(off) + 80
    assert seconds(go("W12", when=("radar-on",))) == pytest.approx(seconds(go("W12")))


@pytest.mark.parametrize(
    ("condition", "cut"),
    [
        ("radiator-hot", {"W30"}),
        ("docking", {"W11", "W13"}),
        ("venting", {"W19"}),
        ("drive-armed", {"W17"}),
        ("wings-turning", {"W28", "W29"}),
        ("radar-on", set()),
        ("rail-loose", set()),
    ],
)
def test_conditions_cut_off_their_worksites_and_no_others(
    station: Structure, graph_in: Callable[..., ReachGraph], condition: str, cut: set[str]
) -> None:
    graph = graph_in(when=(condition,))
    found = set()
    for worksite in station.worksites:
        try:
            find_route(graph, "hatch", worksite.id, options=RouteOptions(explain=False))
        except NoRouteError:
            found.add(worksite.id)
    assert found == cut


def test_a_loose_rail_makes_the_way_aft_longer(go: Go) -> None:
    whole, loose = go("W14"), go("W14", when=("rail-loose",))
    assert "H1086" in rails(whole)
    assert "H1086" not in rails(loose)
    assert seconds(loose) > seconds(whole) + 15


def test_the_crowded_corner_is_walked_round_unless_one_works_there(go: Go) -> None:
    past, inside = go("W09"), go("W07")
    assert past is not None
    assert inside is not None
    assert past.totals.exposure_s == 0
    assert inside.totals.exposure_s > 20
    # A short reel does not reach round the corner: then it is through, at a price in time.
    through = go("W09", kit=(SHORT_M,))
    assert through is not None
    assert through.totals.exposure_s > 0
    assert through.totals.distance_m < past.totals.distance_m - 2
    assert seconds(through) > seconds(past) + 10


def test_the_workshop_end_face_lies_behind_an_edge(go: Go) -> None:
    route = go("W23")
    assert route is not None
    turn = route.margins.turn
    assert turn is not None
    assert turn.turn_deg == pytest.approx(90, abs=1e-6)


def test_the_wing_tip_needs_one_transfer_at_the_right_stay(go: Go) -> None:
    route = go("W28")
    assert stays(route) == ["TP39"]
    assert route is not None
    line = route.margins.line
    assert line is not None
    assert line.least_left_m > 0.6096
    assert route.totals.distance_m > LONG_M - 0.6096
    assert go("W28", closed=("TP39",)) is None
    assert go("W28", kit=(LONG_M,)) is None
    assert go("W28", kit=(SHORT_M,)) is None


@pytest.mark.parametrize("worksite", ["W15", "W19", "W20"])
def test_the_fastest_way_is_too_long_for_one_reel(
    graph_in: Callable[..., ReachGraph], go: Go, worksite: str
) -> None:
    # A reel that never runs out shows the fastest way by hand.
    free, exact = go(worksite, kit=(1000.0,)), go(worksite, kit=(LONG_M,))
    assert free is not None
    assert exact is not None
    assert free.totals.distance_m > LONG_M - 0.6096
    assert exact.totals.distance_m < LONG_M - 0.6096
    assert exact.totals.transfers == 0
    assert seconds(exact) > seconds(free) + 10


def test_a_line_must_not_lie_on_the_vent_lip_though_hands_may_pass(
    station: Structure, go: Go
) -> None:
    assert next(zone for zone in station.zones if zone.id == "Z11").applies_to == ("tether",)
    others = tuple(zone for zone in station.zones if zone.id != "Z11")
    without_lip = station.model_copy(update={"zones": others})
    free = find_route(without_lip, "hatch", "W18", protocol="reel")
    assert seconds(go("W18")) > seconds(free) + 15


def test_the_port_wing_hangs_on_one_handrail(graph_in: Callable[..., ReachGraph], go: Go) -> None:
    assert "H7101" in rails(go("W29"))
    closed = graph_in(closed=("H7101",))
    with pytest.raises(NoRouteError):
        find_route(closed, "hatch", "W29", options=RouteOptions(explain=False))
    for worksite in ("W09", "W11", "W20", "W26", "W28"):
        assert find_route(closed, "hatch", worksite).safe


def test_payloads_need_one_tether_two_or_more_than_there_may_be(
    chains: dict[str, WorksiteChain],
) -> None:
    needed = {
        one: (chains[one].verdict, [attach.tethers for attach in chains[one].attach])
        for one in ("W24", "W26", "W29")
    }
    assert needed == {"W24": ("ok", [1]), "W26": ("ok", [2]), "W29": ("no chain", [None])}
    attached = [chain for chain in chains.values() if chain.attach]
    assert len(attached) >= 12
    assert [chain.worksite for chain in attached if chain.verdict != "ok"] == ["W29"]


def test_tank_three_has_a_face_that_cannot_be_seen_from_outside(station: Structure) -> None:
    # In the gap of 0.7 m between the pump module and the tank, facing the module.
    worksite = next(one for one in station.worksites if one.id == "W20")
    hidden = next(target for target in worksite.targets if target.id == "W20-T2")
    assert hidden.facing == (0.0, 0.0, -1.0)
    assert 1.7 < hidden.position_m[2] < 2.4


def test_items_get_where_they_are_needed(go: Go) -> None:
    assert seconds(go("W14", start="SK11", carry="pump-box")) > 60
    assert seconds(go("W26", start="SK44", carry="mast-folded")) > 60
    assert go("W04", carry="camera") is None  # the star sensor's view, closed to items
    assert go("W04") is not None


def test_a_smaller_person_is_slower_and_gets_everywhere_as_well(station: Structure, go: Go) -> None:
    for worksite in station.worksites[::3]:
        small = go(worksite.id, person="ev-small")
        assert seconds(small) > seconds(go(worksite.id)), worksite.id


def test_lacing_points_share_a_kit_that_first_come_first_served_would_waste(
    station: Structure, chains: dict[str, WorksiteChain]
) -> None:
    """WC501: four short tethers, five points that each alone would take one."""
    found = chains["WC501"]
    assert found.verdict == "ok"
    used = {one.attach: one.chain[0].tether for one in found.attach}
    assert sorted(used.values()) == ["ETE01", *["ETE02"] * 4]
    short = next(one for one in station.equipment_tethers if one.id == "ETE02")
    left = short.count or 0
    worksite = next(one for one in station.worksites if one.id == "WC501")
    for point in sorted(worksite.attach, key=lambda one: one.id):
        # Each takes what is best for it of what the ones before have left.
        kit = [one for one in station.equipment_tethers if one.id != "ETE02"]
        kit += [short.model_copy(update={"count": left})] if left else []
        alone = station.model_copy(
            update={"worksites": (worksite.model_copy(update={"attach": (point,)}),)}
        )
        one = find_chain(alone, "WC501", Situation(), kit=TetherKit.of(kit))
        if point.id == "WC501-A5":
            assert one.verdict == "no chain"
        else:
            assert [(part.tether, part.count) for part in one.attach[0].chain] == [("ETE02", 1)]
            left -= 1
    three = [
        one.model_copy(update={"count": n})
        for one, n in zip(station.equipment_tethers, (1, 3), strict=True)
    ]
    none = find_chain(station, "WC501", Situation(), kit=TetherKit.of(three))
    assert none.verdict == "no chain"
    assert "ties 4 of 5 attach points at the same time" in (none.reason or "")
