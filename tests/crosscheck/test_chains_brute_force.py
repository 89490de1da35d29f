"""Chains and assignments against brute force over all of them, and against ortools."""

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from routing.graph.situation import Situation
from routing.limits import Limits
from routing.worksites.ties.best_first import TIE_WITHIN_M
from routing.worksites.ties.chains import find_chain
from routing.worksites.ties.kit import TetherKit
from routing.worksites.ties.together import Choice, choose_together, shortage
from structures.elements import AttachPoint, Handhold, Handrail, Socket, Worksite
from structures.equipment import EquipmentTether
from structures.model import Structure
from structures.polylines import Polyline
from tests.draws import draws

UP = (0.0, 0.0, -1.0)
MOST = 3
STEP_M = 0.004

near = st.tuples(*[st.floats(-2.5, 2.5)] * 3)


@st.composite
def kits(draw: st.DrawFn) -> tuple[EquipmentTether, ...]:
    return tuple(
        EquipmentTether(
            id=f"T{i}",
            cinched_m=draw(st.floats(0.1, 0.6)),
            extended_m=draw(st.floats(0.7, 1.8)),
            rating_n=draw(st.sampled_from([200.0, 400.0, 500.0])),
            hooks=draw(st.sampled_from([("large", "small"), ("small", "small")])),
            count=draw(st.integers(0, 2)),
        )
        for i in range(draw(st.integers(1, 3)))
    )


def rows_of(kit: tuple[EquipmentTether, ...]) -> list[tuple[int, ...]]:
    """List all numbers of each tether that make a chain, straight from the rules."""
    return [
        used
        for used in product(*(range((one.count or 0) + 1) for one in kit))
        if 0 < sum(used) <= MOST
        and all(n == 0 or (one.rating_n or 0) >= 333.6 for n, one in zip(used, kit, strict=True))
        and any(n > 0 and "large" in one.hooks for n, one in zip(used, kit, strict=True))
    ]


@settings(max_examples=draws(60))
@given(kits(), st.lists(st.tuples(near, near), min_size=1, max_size=3), near, near)
def test_smallest_chain_of_small_kits(
    kit: tuple[EquipmentTether, ...],
    rails: list[tuple[tuple[float, float, float], tuple[float, float, float]]],
    held: tuple[float, float, float],
    seated: tuple[float, float, float],
) -> None:
    """Every chain at every few millimetres of every rail: free space, so lines are straight."""
    elements: list[Handrail | Handhold] = [
        Handrail(id=f"R{i}", points_m=ends, normal=UP)
        if math.dist(*ends) > 0.01
        else Handhold(id=f"R{i}", position_m=ends[0], normal=UP, tether_hook=True)
        for i, ends in enumerate(rails)
    ]
    structure = Structure(
        name="random",
        revision="A",
        handrails=tuple(one for one in elements if isinstance(one, Handrail)),
        handholds=tuple(one for one in elements if isinstance(one, Handhold)),
        sockets=(Socket(id="S1", position_m=(9, 9, 9), normal=UP, clock_zero=(1, 0, 0)),),
        worksites=(
            Worksite(
                id="W1",
                socket="S1",
                attach=(AttachPoint(id="a", held_m=held, seated_m=seated),),
            ),
        ),
    )
    places = np.concatenate(
        [
            line.points_at(line.samples_m(STEP_M))
            for one in elements
            for line in [
                Polyline.through(one.points_m if isinstance(one, Handrail) else [one.position_m])
            ]
        ]
    )
    lengths = np.stack(
        [np.linalg.norm(places - np.array(point), axis=1) for point in (held, seated)]
    )
    best: dict[int, float] = {}
    for used in rows_of(kit):
        cinched = sum(n * one.cinched_m for n, one in zip(used, kit, strict=True))
        extended = sum(n * one.extended_m for n, one in zip(used, kit, strict=True))
        margin = float(np.minimum(extended - lengths, lengths - cinched).min(axis=0).max())
        best[sum(used)] = max(margin, best.get(sum(used), -np.inf))
    limits = Limits(max_chain=MOST)
    found = find_chain(structure, "W1", Situation(limits=limits), kit=TetherKit.of(kit)).attach[0]
    surely = [n for n, margin in best.items() if margin > TIE_WITHIN_M]
    if found.tethers is None:
        assert not surely
        return
    assert all(found.tethers <= n for n in surely)
    assert {part.tether: part.count for part in found.chain} in [
        {one.id: n for n, one in zip(used, kit, strict=True) if n} for used in rows_of(kit)
    ]
    assert found.margin_m is not None
    assert found.margin_at_most_m is not None
    # The reference misses at most half a step; the search at most what it says.
    assert best[found.tethers] - TIE_WITHIN_M - 1e-9 <= found.margin_m
    assert found.margin_m <= best[found.tethers] + STEP_M / 2 + 1e-9
    assert best[found.tethers] <= found.margin_at_most_m + 1e-9
    assert found.margin_at_most_m <= found.margin_m + TIE_WITHIN_M + 1e-9


@st.composite
def assignments(draw: st.DrawFn) -> tuple[list[list[Choice]], tuple[int | None, ...]]:
    kinds = draw(st.integers(1, 3))
    used = st.tuples(*[st.integers(0, 2)] * kinds).filter(any)
    choice = st.builds(Choice, used, st.sampled_from([0.0, 0.1, 0.2, 0.35, 0.5]))
    choices = draw(st.lists(st.lists(choice, min_size=1, max_size=5), min_size=1, max_size=5))
    return choices, draw(st.tuples(*[st.none() | st.integers(0, 5)] * kinds))


def within(picked: list[Choice], counts: tuple[int | None, ...]) -> bool:
    totals = [sum(n) for n in zip(*(one.used for one in picked), strict=True)]
    return all(have is None or n <= have for n, have in zip(totals, counts, strict=True))


@settings(max_examples=draws(150))
@given(assignments())
def test_assignment_against_all_assignments(
    case: tuple[list[list[Choice]], tuple[int | None, ...]],
) -> None:
    choices, counts = case
    allowed = [picked for picked in product(*choices) if within(list(picked), counts)]
    found = choose_together(choices, counts)
    if not allowed:
        assert found is None
        short = shortage(choices, counts)
        more = tuple(
            None if have is None else have + n
            for have, n in zip(counts, short.lacking, strict=True)
        )
        assert choose_together(choices, more) is not None
        totals = [
            sum(
                max(sum(one.used[k] for one in picked) - have, 0)
                for k, have in enumerate(counts)
                if have is not None
            )
            for picked in product(*choices)
        ]
        assert sum(short.lacking) == min(totals)
        return
    assert found is not None
    picked = [some[k] for some, k in zip(choices, found, strict=True)]
    assert within(picked, counts)

    def worth(some: tuple[Choice, ...]) -> tuple[int, float]:
        return (-sum(sum(one.used) for one in some), min(one.margin_m for one in some))

    assert worth(tuple(picked)) == max(worth(some) for some in allowed)


@pytest.mark.parametrize("number", range(25))
def test_assignment_against_ortools(number: int) -> None:
    """Larger cases: CP-SAT solves the same selection, fewest tethers before least margin."""
    random = np.random.default_rng(number)
    kinds, points = int(random.integers(2, 5)), int(random.integers(4, 9))
    choices = [
        [
            Choice(tuple(random.integers(0, 3, kinds).tolist()), float(random.integers(0, 400)))
            for _ in range(int(random.integers(2, 9)))
        ]
        for _ in range(points)
    ]
    counts = tuple(random.integers(points // 2, points + 4, kinds).tolist())
    model = cp_model.CpModel()
    take = [[model.new_bool_var(f"{i}/{k}") for k in range(len(c))] for i, c in enumerate(choices)]
    least = model.new_int_var(0, 400, "least")
    for some, vars_ in zip(choices, take, strict=True):
        model.add_exactly_one(vars_)
        for one, var in zip(some, vars_, strict=True):
            model.add(least <= int(one.margin_m)).only_enforce_if(var)
    pairs = [
        (one, var)
        for some, vars_ in zip(choices, take, strict=True)
        for one, var in zip(some, vars_, strict=True)
    ]
    for kind, have in enumerate(counts):
        model.add(sum(one.used[kind] * var for one, var in pairs) <= have)
    model.maximize(least - 1000 * sum(sum(one.used) * var for one, var in pairs))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    found = choose_together(choices, counts)
    if status == cp_model.INFEASIBLE:
        assert found is None
        return
    assert status == cp_model.OPTIMAL
    assert found is not None
    picked = [some[k] for some, k in zip(choices, found, strict=True)]
    total = sum(sum(one.used) for one in picked)
    assert min(one.margin_m for one in picked) - 1000 * total == round(solver.objective_value)
