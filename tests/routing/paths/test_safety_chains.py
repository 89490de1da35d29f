"""Safety-tether chains: as the routes asked one by one, and short by what is really missing."""

import csv
import io
import math
from dataclasses import replace
from pathlib import Path

import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.sites import site_grips
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.answers.results import Route
from routing.paths.no_route.answer import NoRouteError
from routing.paths.no_route.least_extra import Enough, least_extra
from routing.paths.no_route.shortfall import Shortfall, shortfalls
from routing.paths.request import Request, solve
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit, Outfitting
from routing.worksites.kit_comparison import compare_kits
from routing.worksites.safety_chains import SafetyChain, chain_csv, safety_chains
from structures.elements import TetherPoint, Worksite
from structures.files import read_structure
from structures.units import FOOT_M, length_text
from tests.routing.paths.route_graphs import deck

EXAMPLE = Path(__file__).parents[3] / "examples" / "station" / "station.toml"
LEAPFROG = Outfitting(name="leapfrog", protocol="leapfrog")
RESERVE_M = Limits().reserve_m


def reels(*lengths_m: float) -> Outfitting:
    return Outfitting(name=f"{lengths_m}", protocol="reel", kit=Kit(reels_m=lengths_m))


@pytest.fixture(scope="module")
def station() -> ReachGraph:
    return build_graph(read_structure(EXAMPLE), Situation())


@pytest.fixture(scope="module")
def on_deck() -> ReachGraph:
    return build_graph(deck(), Situation())


def by_worksite(graph: ReachGraph, outfitting: Outfitting) -> dict[str, SafetyChain]:
    return {chain.worksite: chain for chain in safety_chains(graph, outfitting)}


def why(graph: ReachGraph, outfitting: Outfitting, *goals: str) -> dict[str, Shortfall]:
    start = graph.structure.hatches[0].id
    request = Request(start=start, goal=start, protocol=outfitting.protocol, kit=outfitting.kit)
    places = [site_grips(graph, goal) for goal in goals]
    return shortfalls(graph, request, site_grips(graph, start), places)


@pytest.mark.parametrize("outfitting", [LEAPFROG, reels(85 * FOOT_M, 55 * FOOT_M)])
def test_one_search_answers_as_many_asked_one_by_one(
    station: ReachGraph, outfitting: Outfitting
) -> None:
    chains = by_worksite(station, outfitting)
    assert list(chains) == sorted(worksite.id for worksite in station.structure.worksites)
    options = RouteOptions(kit=outfitting.kit, explain=False)
    for worksite, chain in chains.items():
        try:
            route = find_route(
                station, "hatch", worksite, protocol=outfitting.protocol, options=options
            )
        except NoRouteError:
            assert chain.way == "no route"
            continue
        assert chain.seconds == pytest.approx(route.totals.seconds, abs=1e-9)
        assert chain.way == ("safe" if route.safe else "unsafe")


def test_a_chain_worked_out_by_hand(on_deck: ReachGraph) -> None:
    # Hatch at x = -0.4, T1 0.3 m beside and 0.07 m below; socket at 12.5: 12.9 m of way.
    first_m = (0.3**2 + 0.07**2) ** 0.5
    chain = by_worksite(on_deck, reels(14.0))["W1"]
    (stay,) = chain.stays
    assert (stay.tether_point, stay.length_m, stay.reserve_m) == ("T1", 14.0, RESERVE_M)
    assert stay.used_m == pytest.approx(first_m + 12.9)
    assert chain.margin_m == pytest.approx(14.0 - RESERVE_M - first_m - 12.9)
    assert chain.margin_m == stay.margin_m
    assert stay.tightest_grip == "S1"
    assert chain.transfers == 0


def test_a_line_too_short_is_short_by_what_is_missing(on_deck: ReachGraph) -> None:
    first_m = (0.3**2 + 0.07**2) ** 0.5
    chains = by_worksite(on_deck, reels(10.0))
    found = chains["W1"].shortfall
    assert chains["W2"].way == "safe"
    assert chains["W1"].way == "no route"
    assert found is not None
    assert found.why == "too little line"
    assert found.line_short_m == pytest.approx(first_m + 12.9 + RESERVE_M - 10.0, abs=1e-9)
    # The way takes ends and quarter metres of H3, from 6.5: the first beyond the line.
    left_m = 10.0 - RESERVE_M - first_m - 0.4 - 6.5
    assert found.runs_out_at is not None
    rail, _, along = found.runs_out_at.partition("@")
    assert rail == "H3"
    assert left_m < float(along) <= left_m + 0.61
    assert found.tether_point == "T1"
    assert found.more_reels == 1
    assert f"{length_text(found.line_short_m, 'up', feet=True)} short" in found.message


def test_a_tether_point_out_of_hook_reach_is_named_with_its_gap() -> None:
    # T2 0.7 m beside the rail instead of 0.2 m, at the seventh of eleven steps along H2.
    away_m = (0.7**2 + 0.07**2) ** 0.5
    points = (
        TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
        TetherPoint(id="T2", position_m=(3.4 + 2.6 * 7 / 11, 0.7, 0.0), rating_n=3000.0),
    )
    graph = build_graph(deck(tether_points=points), Situation())
    found = why(graph, reels(10.0, 10.0), "W1")["W1"]
    assert found.hook_at == "T2"
    assert found.hook_short_m == pytest.approx(away_m - Limits().hook_reach_m, abs=0.002)
    assert f"T2 is out of hook reach by {math.ceil(found.hook_short_m * 1000)} mm" in found.message
    wide = Limits(hook_reach_m=Limits().hook_reach_m + (found.hook_short_m or 0.0))
    opened = replace(graph, situation=Situation(limits=wide))
    assert by_worksite(opened, reels(10.0, 10.0))["W1"].way == "safe"


def test_hands_that_do_not_get_there_are_not_blamed_on_the_tether() -> None:
    far = (*deck().worksites, Worksite(id="W9", handrail="H9", place_m=(20.0, 0.0, 0.0)))
    rails = (*deck().handrails, deck().handrails[0].model_copy(
        update={"id": "H9", "points_m": ((20.0, 0.0, -0.07), (21.0, 0.0, -0.07))}
    ))  # fmt: skip
    graph = build_graph(deck(worksites=far, handrails=rails), Situation())
    for outfitting in (LEAPFROG, reels(30.0)):
        assert why(graph, outfitting, "W9")["W9"].why == "hands"


def test_leapfrog_says_by_how_much_hook_or_tether_do_not_span() -> None:
    # Gaps of 0.5 m on both sides of H3; of 0.4 m before.
    graph = build_graph(deck(), Situation(limits=Limits(hook_reach_m=0.45)))
    chains = by_worksite(graph, LEAPFROG)
    assert chains["W2"].way == "safe"
    found = chains["W1"].shortfall
    assert found is not None
    assert found.hook_short_m == pytest.approx(0.05, abs=1e-9)
    assert found.hook_at == "H3"
    short = build_graph(deck(), Situation(limits=Limits(short_tether_m=0.45)))
    other = by_worksite(short, LEAPFROG)["W1"].shortfall
    assert other is not None
    assert other.line_short_m == pytest.approx(0.05, abs=1e-9)


def _opens(graph: ReachGraph, kit: tuple[float, ...], goal: str) -> bool:
    request = Request(start="hatch", goal=goal, protocol="reel", kit=Kit(reels_m=kit))
    return solve(graph, request) is not None


@pytest.mark.parametrize(
    ("kit", "goals"),
    [
        ((55 * FOOT_M,), ("W14", "W25", "W28")),
        ((9.0, 9.0, 9.0), ("W17", "W29")),
        ((55 * FOOT_M, 12.0), ("W28",)),
    ],
)
def test_what_is_said_to_be_missing_is_enough_and_a_little_less_is_not(
    station: ReachGraph, kit: tuple[float, ...], goals: tuple[str, ...]
) -> None:
    for goal, found in why(station, reels(*kit), *goals).items():
        short_m = found.line_short_m
        assert short_m is not None
        assert _opens(station, tuple(m + short_m + 1e-9 for m in kit), goal)
        assert not _opens(station, tuple(m + short_m - 0.011 for m in kit), goal)
        longest_m = max(kit)
        if found.more_reels is None:
            assert not _opens(station, (*kit, *(longest_m,) * 4), goal)
        else:
            assert _opens(station, (*kit, *(longest_m,) * found.more_reels), goal)
            assert not _opens(station, (*kit, *(longest_m,) * (found.more_reels - 1)), goal)


def test_the_wing_tip_has_one_transfer_at_its_stay_or_a_reason(station: ReachGraph) -> None:
    chain = by_worksite(station, reels(85 * FOOT_M, 85 * FOOT_M))["W28"]
    assert chain.way == "safe"
    assert chain.transfers == 1
    assert [stay.tether_point for stay in chain.stays] == ["TP01", "TP39"]
    assert all(stay.margin_m >= 0 for stay in chain.stays)
    found = why(station, reels(55 * FOOT_M), "W28")["W28"]
    assert found.why == "too little line"
    assert found.line_short_m == pytest.approx(31.155, abs=0.011)
    assert found.runs_out_at is not None


def test_kits_side_by_side(on_deck: ReachGraph) -> None:
    kits = (reels(6.5), reels(14.0), reels(9.0, 9.0), reels(20.0), LEAPFROG)
    compared = compare_kits(kits, {one.name: safety_chains(on_deck, one) for one in kits})
    serves = {kit.kit: kit.serves for kit in compared.kits}
    assert serves == {"(6.5,)": 1, "(14.0,)": 2, "(9.0, 9.0)": 2, "(20.0,)": 2, "leapfrog": 2}
    assert compared.kits[0].not_served == ("W1",)
    assert compared.least == "leapfrog"
    assert compared.fastest == "(14.0,)"
    assert compared.used == "(14.0,)"
    without = kits[:-1]
    found = compare_kits(without, {one.name: safety_chains(on_deck, one) for one in without})
    assert found.least == "(14.0,)"
    none = compare_kits(kits[:1], {kits[0].name: safety_chains(on_deck, kits[0])})
    assert (none.least, none.fastest, none.used) == (None, None, "(6.5,)")


def test_csv_has_a_row_a_stay(on_deck: ReachGraph) -> None:
    chains = [*safety_chains(on_deck, reels(9.0, 9.0)), *safety_chains(on_deck, reels(6.5))]
    rows = list(csv.DictReader(io.StringIO(chain_csv(chains))))
    assert len(rows) == sum(max(len(chain.stays), 1) for chain in chains)
    far = [row for row in rows if (row["kit"], row["worksite"]) == ("(9.0, 9.0)", "W1")]
    assert [row["tether_point"] for row in far] == ["T1", "T2"]
    missing = next(row for row in rows if row["way"] == "no route")
    assert float(missing["line_short_m"]) > 0
    assert missing["reason"]


def test_an_unrated_tether_point_makes_the_chain_unsafe() -> None:
    points = [p.model_copy(update={"rating_n": None}) for p in deck().tether_points]
    graph = build_graph(deck(tether_points=tuple(points)), Situation())
    chain = by_worksite(graph, reels(14.0))["W1"]
    assert chain.way == "unsafe"
    assert "T1 has no rating" in (chain.reason or "")


def test_halving_asks_for_many_at_once_and_never_says_too_little() -> None:
    least = {"a": 0.3, "b": 2.0, "c": 2.004, "d": 7.9}
    asked: list[float] = []

    def search(extra_m: float, goals: object) -> dict[str, Route]:
        asked.append(extra_m)
        assert isinstance(goals, list)
        return {goal: goal for goal in goals if least[goal] <= extra_m}

    known = {goal: Enough(extra_m=8.0, course=goal) for goal in least}
    found = least_extra(known, search, lambda _, extra_m: extra_m, within_m=0.01)
    for goal, one in found.items():
        assert one.fails_m < least[goal] <= one.extra_m <= least[goal] + 0.01
    assert len(asked) < 40


def test_hatchless_structures_and_other_starts(on_deck: ReachGraph) -> None:
    chains = {c.worksite: c for c in safety_chains(on_deck, reels(14.0), start="T2")}
    assert chains["W1"].start == "T2"
    assert [stay.tether_point for stay in chains["W1"].stays] == ["T2"]
