"""Choices over via sites on reels against enumeration of every legal walk."""

import dataclasses
import heapq
import itertools
import random

import numpy as np
import pytest

from routing.paths.choices.alternatives import Held
from routing.paths.choices.via_choices import WalkSearch
from routing.paths.tethers.front import moves_between
from routing.paths.tethers.legs import SearchGaveUpError
from tests.crosscheck.search_cases import (
    Case,
    TooManyWalksError,
    make_case,
    problem_of,
    random_from,
)
from tests.crosscheck.via_cases import Place, enumerate_via_walks, make_vias, via_actions

MOST_WALKS = 10_000
FIRST = 2.0**20

Arcs = dict[tuple[int, int], float]


def _search(rng: random.Random, case: Case, vias: list[frozenset[int]], goal: int) -> WalkSearch:
    problem = problem_of(case)
    listed = list(case.arcs)
    exposure = {arc: rng.choice((0, 0, 2, 8)) / 4 for arc in listed}
    network = problem.ground.network
    return WalkSearch(
        ground=problem.ground,
        rules=problem.rules,
        starts=problem.starts,
        stops=(*(tuple(sorted(via)) for via in vias), (goal,)),
        exposure_s=np.array([exposure[listed[move]] for move in network.move]),
        held=Held(network=network, way_m=problem.ground.way_m, element=np.arange(case.nodes) // 2),
    )


def _by_arc(search: WalkSearch, values: np.ndarray) -> Arcs:
    network = search.ground.network
    ends = zip(network.tail.tolist(), network.head.tolist(), strict=True)
    return dict(zip(ends, values.tolist(), strict=True))


def _least_within(
    case: Case, vias: list[frozenset[int]], goal: int, used: Arcs, limit: float
) -> float | None:
    """Least seconds of a legal walk that uses no more than the limit, by enumeration."""
    count = itertools.count()
    heap: list[tuple[float, int, float, Place]] = [(0.0, next(count), 0.0, (0, False, case.start))]
    done: set[tuple[float, Place]] = set()
    while heap:
        cost, _, spent, place = heapq.heappop(heap)
        if (spent, place) in done:
            continue
        done.add((spent, place))
        if len(done) > MOST_WALKS:
            raise TooManyWalksError
        here = place[2][0][-1][3][-1]
        if place[0] == len(vias) and here == goal:
            return cost
        for extra, after in via_actions(case, vias, place):
            there = after[2][0][-1][3][-1]
            further = spent + (used[here, there] if there != here else 0.0)
            if further <= limit:
                heapq.heappush(heap, (cost + extra, next(count), further, after))
    return None


def _heavier(case: Case, *, transfer: float = 0.0, exposure: Arcs | None = None) -> Case:
    arcs = {
        arc: (cost + (0.0 if exposure is None else FIRST * exposure[arc]), way)
        for arc, (cost, way) in case.arcs.items()
    }
    return dataclasses.replace(case, arcs=arcs, transfer=case.transfer + transfer)


def test_the_best_of_each_kind_equal_enumeration() -> None:
    rng = random_from(71_000)
    compared = differing = 0
    while compared < 60:
        case = make_case(rng)
        vias = make_vias(rng, case)
        goal = rng.randrange(case.nodes)
        search = _search(rng, case, vias, goal)
        exposure = _by_arc(search, search.exposure_s)
        try:
            quick = enumerate_via_walks(case, vias).get(goal)
            few = enumerate_via_walks(_heavier(case, transfer=FIRST), vias).get(goal)
            calm = enumerate_via_walks(_heavier(case, exposure=exposure), vias).get(goal)
        except TooManyWalksError:
            continue
        found = search.tradeoffs()
        assert not found.complete
        assert bool(found.choices) == (quick is not None)
        if quick is None or few is None or calm is None:
            continue
        assert found.quickest.seconds == pytest.approx(quick)
        one = found.fewest_transfers
        assert one.seconds + FIRST * one.transfers == pytest.approx(few)
        assert found.least_exposure.exposure_s == pytest.approx(calm // (FIRST / 4) / 4)
        for choice in found.choices:
            moves = moves_between(search.ground.network, choice.nodes)
            assert choice.exposure_s == search.exposure_s[moves].sum()
        compared += 1
        differing += len(found.choices) > 1
    assert differing >= 5, differing


def test_an_alternative_is_within_its_gap_of_the_least() -> None:
    rng = random_from(72_000)
    compared = exact = none = 0
    while compared < 60:
        case = make_case(rng)
        vias = make_vias(rng, case)
        goal = rng.randrange(case.nodes)
        search = _search(rng, case, vias, goal)
        used = search.held.on(rng.sample(range(case.nodes // 2 + 1), 2))
        limit = rng.choice((0.0, 1.0, 3.0, 5.0))
        try:
            expected = _least_within(case, vias, goal, _by_arc(search, used), limit)
        except TooManyWalksError:
            continue
        try:
            found = search.within(used, limit)
        except SearchGaveUpError:
            pytest.fail("small cases are searched to the end")
        compared += 1
        if expected is None:
            assert found is None
            none += 1
            continue
        assert found is not None
        assert used[moves_between(search.ground.network, found.nodes)].sum() <= limit + 1e-9
        assert found.cost - found.unproven <= expected + 1e-9
        assert expected <= found.cost + 1e-9
        exact += found.cost == pytest.approx(expected)
    assert exact >= 10, exact
    assert none >= 5, none
