"""Additions in near misses: exact values, and the greedy choice against all sets."""

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest

from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.route import RouteOptions, find_route
from routing.studies.closures.additions import (
    Addition,
    Loss,
    Value,
    choose_additions,
    find_additions,
    losses_of,
    value_of,
)
from routing.studies.closures.answers import Answers, Asked, Trip, worksite_trips
from routing.studies.closures.closure import single_closures
from routing.studies.closures.ranking import count_rows
from routing.studies.closures.sweep import closure_study
from routing.studies.running.run import run_study
from structures.elements import Handrail, Hatch, TetherPoint, Worksite
from structures.files.reader import read_structure
from structures.frames import Vector
from structures.model import Structure
from tests.routing.graph.graph_structures import STANDOFF_M, UP, flat_deck, rail

ROOT = Path(__file__).resolve().parents[3]
Z = -STANDOFF_M
GAP_M = 0.75
"""Over the reach of 0.61 m, and near enough for a near miss."""


def at(x: float, y: float) -> Vector:
    return (x, y, Z)


def deck(*rails: Handrail, goals: dict[str, tuple[str, Vector]]) -> Structure:
    """A deck with a hatch at the origin and worksites on rails."""
    return flat_deck(
        *rails,
        tether_points=(TetherPoint(id="T", position_m=(0.0, 0.2, Z), rating_n=5000.0),),
        hatches=(Hatch(id="A", position_m=at(0.0, 0.0), normal=UP, tether_point="T"),),
        worksites=tuple(
            Worksite(id=name, handrail=on, place_m=place) for name, (on, place) in goals.items()
        ),
    )


def row_of_islands() -> Structure:
    """From the hatch H1, gap, H2, gap, H3 with a goal on it; and H4 with another, one gap away."""
    return deck(
        rail("H1", at(0.3, 0.0), at(2.0, 0.0)),
        rail("H2", at(2.0 + GAP_M, 0.0), at(4.0, 0.0)),
        rail("H3", at(4.0 + GAP_M, 0.0), at(6.0, 0.0)),
        rail("H4", at(0.3, 3.0), at(2.0, 3.0)),
        rail("H5", at(0.3, 0.0 + GAP_M), at(0.3, 2.8)),
        goals={"W3": ("H3", at(5.9, 0.0)), "W4": ("H4", at(1.9, 3.0))},
    )


def only_together() -> Structure:
    """One gap saves a little time; two gaps in a row, each useless alone, regain two goals."""
    return deck(
        rail("H1", at(0.3, 0.0), at(2.0, 0.0)),
        rail("H2", at(2.0 + GAP_M, 0.0), at(4.0, 0.0)),
        rail("H3", at(4.0 + GAP_M, 0.0), at(6.0, 0.0)),
        # A long way round from H1 to the end of H7, with a gap that would save it.
        rail("H6", at(0.3, 0.5), at(0.3, 8.0), at(1.2, 8.0)),
        rail("H7", at(1.2, 7.7), at(1.2, GAP_M)),
        goals={
            "W3": ("H3", at(5.9, 0.0)),
            "W5": ("H3", at(5.0, 0.0)),
            "W6": ("H7", at(1.2, GAP_M + 0.1)),
        },
    )


def asked(structure: Structure) -> Asked:
    return Asked(structure=structure, situation=Situation(), protocol="leapfrog")


def losses(question: Asked, trips: tuple[Trip, ...]) -> tuple[Loss, ...]:
    closures = single_closures(question.structure, question.situation)
    rows = run_study(closure_study(question, trips, closures))
    return losses_of(count_rows(question.structure, rows).critical)


def best_set(
    question: Asked, trips: tuple[Trip, ...], lost: tuple[Loss, ...], size: int
) -> tuple[Value, tuple[Addition, ...]]:
    """All sets of at most this size, tried one by one."""
    found = find_additions(Answers(question).ground().graph)
    sets = [some for k in range(size + 1) for some in combinations(found, k)]
    values = [value_of(question, trips, lost, some) for some in sets]
    best = max(range(len(sets)), key=lambda i: values[i].rank)
    return values[best], sets[best]


def test_a_gap_is_a_near_miss_with_a_rail_in_its_middle() -> None:
    additions = find_additions(Answers(asked(row_of_islands())).ground().graph)
    pairs = [one.between for one in additions]
    assert ("H1", "H2") in pairs
    one = additions[pairs.index(("H1", "H2"))]
    assert one.points_m[0] == pytest.approx(at(2.0 + GAP_M / 4, 0.0))
    assert one.points_m[1] == pytest.approx(at(2.0 + 3 * GAP_M / 4, 0.0))
    assert one.way_m == pytest.approx(GAP_M)


def test_a_value_is_what_a_route_over_the_new_rail_says() -> None:
    structure = row_of_islands()
    question, trips = asked(structure), worksite_trips(structure)
    additions = find_additions(Answers(question).ground().graph)
    by_pair = {one.between: one for one in additions}
    some = (by_pair["H1", "H2"], by_pair["H2", "H3"])
    value = value_of(question, trips, (), some)
    assert value == Value(regained=1, kept=0, saved_s=0.0)
    rails = [rail(one.id, *one.points_m, normal=one.normal) for one in some]
    whole = structure.model_copy(update={"handrails": (*structure.handrails, *rails)})
    whole = Structure.model_validate(whole.model_dump())
    route = find_route(whole, "A", "W3", options=RouteOptions(explain=False))
    assert [one.id for one in route.handrails] == ["A", "H1", some[0].id, "H2", some[1].id, "H3"]


@pytest.mark.parametrize("size", [1, 2, 3])
def test_greedy_against_all_sets(size: int) -> None:
    structure = row_of_islands()
    question, trips = asked(structure), worksite_trips(structure)
    lost = losses(question, trips)
    best, some = best_set(question, trips, lost, size)
    additions = find_additions(Answers(question).ground().graph)
    chosen, alone = choose_additions(question, trips, lost, additions, most=size)
    assert set(alone) == {one.id for one in additions}
    got = chosen[-1].together if chosen else Value()
    assert got.rank <= best.rank
    # What is said of the chosen set is exact, whether or not it is the best one.
    assert got == value_of(question, trips, lost, [one.addition for one in chosen])
    assert len(some) <= size


def test_greedy_is_not_the_best_where_two_help_only_together() -> None:
    structure = only_together()
    question, trips = asked(structure), worksite_trips(structure)
    lost = losses(question, trips)
    best, some = best_set(question, trips, lost, 2)
    additions = find_additions(Answers(question).ground().graph)
    chosen, _ = choose_additions(question, trips, lost, additions, most=2)
    assert {one.between for one in some} == {("H1", "H2"), ("H2", "H3")}
    assert best.regained == 2
    assert chosen
    assert chosen[0].together.regained == 0
    assert chosen[0].together.saved_s > 20
    assert chosen[-1].together.rank < best.rank


def test_a_rail_that_brings_a_goal_back_into_the_emergency_limit() -> None:
    """W6 is a long way round, or just beyond the gap between H1 and H7."""
    structure = only_together()
    question, trips = asked(structure), worksite_trips(structure)
    (addition,) = (
        one
        for one in find_additions(Answers(question).ground().graph)
        if one.between == ("H1", "H7")
    )
    free = value_of(question, trips, (), [addition])
    assert (free.regained, free.saved_s > 20) == (0, True)
    trip = next(one for one in trips if one.goal == "W6")
    best = Answers(question).best(trip)
    assert best is not None
    # Home is as far as out; one second less is allowed.
    limits = Limits(time_home_limit_s=best[1].seconds - 1.0)
    short = replace(question, situation=Situation(limits=limits))
    assert value_of(short, trips, (), [addition]) == Value(regained=1, kept=0, saved_s=0.0)
    lost = [Loss(("H6",), "W6")]
    assert lost[0] in losses(short, trips)
    assert value_of(short, trips, lost, [addition]).kept == 1
    assert value_of(short, trips, lost, []) == Value()


def test_the_planted_near_miss_helps_most() -> None:
    structure = read_structure(ROOT / "examples" / "station" / "station.toml")
    question, trips = asked(structure), worksite_trips(structure)
    lost = losses(question, trips)
    additions = find_additions(Answers(question).ground().graph)
    chosen, alone = choose_additions(question, trips, lost, additions, most=1)
    assert chosen[0].addition.between == ("H1023", "H1203")
    assert chosen[0].together.kept >= 3
    assert chosen[0].together.saved_s > 400
    assert all(alone[one.id].rank <= chosen[0].alone.rank for one in additions)
