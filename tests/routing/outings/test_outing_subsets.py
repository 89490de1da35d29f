"""The search for the best set of groups: against brute force and ortools, and what it claims."""

import random
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ortools.algorithms.python import knapsack_solver

from routing.outings.choosing.subset_search import Found, Group, Groups, most_worth

MANY = 10_000


def all_subsets(ids: tuple[str, ...]) -> list[tuple[str, ...]]:
    return [one for count in range(len(ids) + 1) for one in combinations(ids, count)]


def searched(
    groups: list[Group],
    budgets_s: tuple[float, ...],
    lengths_s: dict[tuple[str, ...], float],
    most_plans: int = MANY,
) -> Found[str]:
    """Search where a set can be planned just when it has a length."""

    def plan(ids: tuple[str, ...]) -> tuple[float, str] | None:
        return (lengths_s[ids], "+".join(ids)) if ids in lengths_s else None

    asked = Groups(groups=groups, budgets_s=budgets_s, fits=lambda _: True, plan=plan)
    return most_worth(asked, most_plans)


@pytest.mark.parametrize("seed", range(40))
def test_any_feasible_family_gives_what_brute_force_gives(seed: int) -> None:
    """Sets that can be planned are drawn at random: larger ones need not be harder."""
    rng = random.Random(seed)
    count = rng.randint(1, 6)
    groups = [
        Group(
            id=f"g{i}",
            worth=(float(rng.randint(0, 2)), float(rng.randint(0, 4))),
            takes_s=(float(rng.randint(0, 9)), float(rng.randint(0, 9))),
        )
        for i in range(count)
    ]
    ids = tuple(one.id for one in groups)
    budgets_s = (float(rng.randint(0, 30)), float(rng.randint(0, 30)))
    by_id = {one.id: one for one in groups}
    lengths_s = {
        one: float(rng.randint(1, 4))
        for one in all_subsets(ids)
        if rng.random() < 0.4
        and all(
            sum(by_id[i].takes_s[person] for i in one) <= budgets_s[person] for person in (0, 1)
        )
    }
    found = searched(groups, budgets_s, lengths_s)

    def rank(one: tuple[str, ...]) -> tuple[object, ...]:
        worth = tuple(-sum(by_id[i].worth[level] for i in one) for level in (0, 1))
        return (*worth, lengths_s[one], tuple(ids.index(i) for i in one))

    best = min(lengths_s, key=rank, default=None)
    assert found.chosen == best
    if best is not None:
        assert found.proven
        assert found.answer == "+".join(best)
        assert found.planned <= len(all_subsets(ids))


@pytest.mark.parametrize("seed", range(25))
def test_the_knapsack_in_it_agrees_with_ortools(seed: int) -> None:
    rng = random.Random(1000 + seed)
    count = rng.randint(3, 9)
    worths = [rng.randint(1, 30) for _ in range(count)]
    takes = [[rng.randint(0, 40) for _ in range(count)] for _ in range(2)]
    budgets = [rng.randint(20, 120) for _ in range(2)]
    groups = [
        Group(
            id=f"g{i}",
            worth=(float(worths[i]),),
            takes_s=(float(takes[0][i]), float(takes[1][i])),
        )
        for i in range(count)
    ]
    asked = Groups(
        groups=groups,
        budgets_s=(float(budgets[0]), float(budgets[1])),
        fits=lambda _: True,
        plan=lambda ids: (float(len(ids)), None),
    )
    found = most_worth(asked, MANY)
    solver = knapsack_solver.KnapsackSolver(
        knapsack_solver.SolverType.KNAPSACK_MULTIDIMENSION_BRANCH_AND_BOUND_SOLVER, "check"
    )
    solver.init(worths, takes, budgets)
    assert found.proven
    assert found.worth == (solver.solve(),)
    # Every set within the budgets can be planned here, so the bound leads straight to the best.
    assert found.planned <= 1 + sum(
        sum(worths[i] for i in one) == found.worth[0]
        for size in range(count + 1)
        for one in combinations(range(count), size)
    )


@given(st.integers(1, 8), st.integers(0, 10_000))
def test_giving_up_says_what_might_be_missed(most_plans: int, seed: int) -> None:
    rng = random.Random(seed)
    groups = [
        Group(id=f"g{i}", worth=(float(rng.randint(1, 9)),), takes_s=(1.0,)) for i in range(5)
    ]
    ids = tuple(one.id for one in groups)
    lengths_s = {one: 1.0 for one in all_subsets(ids) if not one or rng.random() < 0.1}
    worth = {one: sum(groups[ids.index(i)].worth[0] for i in one) for one in lengths_s}
    found = searched(groups, (99.0,), lengths_s, most_plans)
    assert found.chosen is not None
    assert found.worth[0] <= max(worth.values()) <= found.at_most[0] + 1e-9
    if found.proven:
        assert found.worth[0] == max(worth.values())


def test_a_bound_rules_out_all_that_has_more_in_it() -> None:
    asked_for: list[tuple[str, ...]] = []

    def plan(ids: tuple[str, ...]) -> tuple[float, None]:
        asked_for.append(ids)
        return float(len(ids)), None

    groups = [Group(id=one, worth=(1.0,), takes_s=(1.0,)) for one in "abcd"]
    asked = Groups(groups=groups, budgets_s=(9.0,), fits=lambda ids: "b" not in ids, plan=plan)
    found = most_worth(asked, MANY)
    assert found.chosen == ("a", "c", "d")
    assert asked_for == [("a", "c", "d")]
    assert found.ruled_out > 0


def test_nothing_to_choose_from() -> None:
    found = searched([], (), {(): 3.0})
    assert (found.chosen, found.proven, found.planned) == ((), True, 1)
    none = searched([], (), {})
    assert none.chosen is None
