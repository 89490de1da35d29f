"""The search for the best order and split: against brute force and ortools, and its claims."""

import random
from collections.abc import Iterator, Mapping
from itertools import permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from routing.outings.choosing.arrangement import Arrangement
from routing.outings.choosing.order_search import Beginning, Best, Orders, best_order

PEOPLE = ("EV1", "EV2")
MANY = 1_000_000


def splits(pool: tuple[str, ...]) -> Iterator[dict[str, tuple[str, ...]]]:
    """Yield every order and split of a pool between two people, each once."""
    for order in permutations(pool):
        for at in range(len(order) + 1):
            yield {"EV1": order[:at], "EV2": order[at:]}


def arrangements(pools: list[tuple[str, ...]]) -> Iterator[Arrangement]:
    yield from product(*(list(splits(pool)) for pool in pools))


def key(chosen: Arrangement) -> tuple[tuple[tuple[str, ...], ...], ...]:
    return tuple(tuple(given[one] for one in PEOPLE) for given in chosen)


def searched(
    pools: list[tuple[str, ...]],
    lengths_s: Mapping[tuple[tuple[tuple[str, ...], ...], ...], float],
    most_opened: int = MANY,
    may: Mapping[str, tuple[str, ...]] | None = None,
    slack_s: float = 1.0,
) -> Best[str]:
    """Search where an arrangement can be planned just when it has a length.

    The bound is that of the best arrangement that goes on like that, less the slack.
    """

    def goes_on(one: tuple[tuple[tuple[str, ...], ...], ...], from_: Beginning) -> bool:
        for number, (have, part) in enumerate(zip(one, from_.pools, strict=False)):
            last = number == len(from_.pools) - 1
            for person, (whole, begun) in enumerate(zip(have, part, strict=True)):
                shut = not last or person < from_.closed
                if whole[: len(begun)] != begun or (shut and whole != begun):
                    return False
        return True

    def bound(beginning: Beginning) -> float:
        fit = [s for one, s in lengths_s.items() if goes_on(one, beginning)]
        return min(fit, default=float("inf")) - slack_s

    def plan(chosen: Arrangement, below_s: float) -> tuple[float, str] | None:
        length_s = lengths_s.get(key(chosen), float("inf"))
        return (length_s, str(key(chosen))) if length_s < below_s else None

    everybody = {one: PEOPLE for pool in pools for one in pool}
    orders = Orders(
        pools=pools, people=PEOPLE, may={**everybody, **(may or {})}, bound=bound, plan=plan
    )
    first = tuple({"EV1": pool, "EV2": ()} for pool in pools)
    return best_order(orders, first, most_opened)


@pytest.mark.parametrize("seed", range(30))
def test_any_lengths_give_what_brute_force_gives(seed: int) -> None:
    rng = random.Random(seed)
    shapes = [("abc",), ("abcd",), ("ab", "cd"), ("a", "bc"), ("abc", "d")]
    pools = [tuple(one) for one in shapes[seed % len(shapes)]]
    lengths_s = {
        key(one): float(rng.randint(10, 60)) for one in arrangements(pools) if rng.random() < 0.7
    }
    may = {"b": ("EV2",)} if seed % 3 == 0 else {}
    allowed = {
        one: s for one, s in lengths_s.items() if not may or all("b" not in pool[0] for pool in one)
    }
    first = key(tuple({"EV1": pool, "EV2": ()} for pool in pools))
    if first in lengths_s:  # the plan as it stands is planned whoever may do what
        allowed[first] = lengths_s[first]
    found = searched(pools, lengths_s, may=may, slack_s=float(rng.randint(0, 5)))
    assert found.proven
    assert found.total_s == min(allowed.values())
    assert found.chosen is not None
    assert lengths_s[key(found.chosen)] == found.total_s
    assert found.answer == str(key(found.chosen))


def test_every_arrangement_comes_up_just_once() -> None:
    for pools, wanted in (([tuple("abcd")], 120), ([("a", "b"), ("c",)], 12), ([], 1)):
        seen: list[Arrangement] = []

        def plan(chosen: Arrangement, below_s: float, seen: list[Arrangement] = seen) -> None:
            assert below_s == float("inf")
            seen.append(chosen)

        may = {one: PEOPLE for pool in pools for one in pool}
        orders = Orders(pools=pools, people=PEOPLE, may=may, bound=lambda _: 0.0, plan=plan)
        found: Best[None] = best_order(orders, tuple({"EV1": p, "EV2": ()} for p in pools), MANY)
        assert len(seen) == len({key(one) for one in seen}) == wanted
        assert {key(one) for one in seen} == {key(one) for one in arrangements(pools)}
        assert found.chosen is None


@given(st.integers(1, 40), st.integers(0, 10_000))
def test_giving_up_says_what_remains_possible(most_opened: int, seed: int) -> None:
    rng = random.Random(seed)
    pools = [tuple("abc")]
    lengths_s = {key(one): float(rng.randint(10, 99)) for one in arrangements(pools)}
    found = searched(pools, lengths_s, most_opened, slack_s=3.0)
    best_s = min(lengths_s.values())
    assert found.at_least_s <= best_s <= found.total_s
    if found.proven:
        assert found.total_s == best_s


def test_the_plan_as_it_stands_wins_ties() -> None:
    pools = [tuple("abc")]
    found = searched(pools, {key(one): 20.0 for one in arrangements(pools)}, slack_s=0.0)
    assert found.chosen == ({"EV1": ("a", "b", "c"), "EV2": ()},)
    assert found.planned == 1


def by_cp_sat(takes: dict[str, int], way: dict[tuple[str, str], int], home: str) -> int:
    """Return the least time until both people are back, by ortools: two circuits over errands."""
    model = cp_model.CpModel()
    ids = list(takes)
    number = {one: i + 1 for i, one in enumerate(ids)}
    span = sum(takes.values()) + sum(way.values())
    spent = []
    by: dict[tuple[int, str], cp_model.IntVar] = {}
    for person in range(2):
        arcs, cost = [], []
        for one in ids:
            by[person, one] = model.new_bool_var(f"{person} {one}")
            arcs.append((number[one], number[one], ~by[person, one]))
            cost.append(takes[one] * by[person, one])
        idle = model.new_bool_var(f"{person} idle")
        arcs.append((0, 0, idle))
        for one in ids:
            model.add_implication(idle, ~by[person, one])
        for one in (home, *ids):
            for other in (home, *ids):
                if one != other:
                    arc = model.new_bool_var(f"{person} {one} {other}")
                    arcs.append((number.get(one, 0), number.get(other, 0), arc))
                    cost.append(way[one, other] * arc)
        model.add_circuit(arcs)
        total = model.new_int_var(0, span, f"{person} total")
        model.add(total == sum(cost))
        spent.append(total)
    for one in ids:
        model.add_exactly_one(by[0, one], by[1, one])
    last = model.new_int_var(0, span, "last")
    model.add_max_equality(last, spent)
    model.minimize(last)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


@pytest.mark.parametrize("seed", range(12))
def test_two_people_on_the_road_agree_with_ortools(seed: int) -> None:
    """Errands with ways between them, no tethers: the last one back decides."""
    rng = random.Random(500 + seed)
    ids = tuple("abcdef"[: 4 + seed % 3])
    places = {one: (rng.randint(0, 40), rng.randint(0, 40)) for one in ("home", *ids)}
    takes = {one: rng.randint(1, 30) for one in ids}
    way = {
        (one, other): abs(places[one][0] - places[other][0])
        + abs(places[one][1] - places[other][1])
        for one in places
        for other in places
    }

    def spent(errands: tuple[str, ...], *, back: bool = True) -> float:
        stops = ("home", *errands, *(("home",) if back and errands else ()))
        return float(
            sum(takes[one] for one in errands)
            + sum(way[stops[i : i + 2]] for i in range(len(stops) - 1))
        )

    def bound(beginning: Beginning) -> float:
        if not beginning.pools:
            return 0.0
        begun = [spent(one, back=False) for one in beginning.pools[-1]]
        work = sum(takes[one] for one in beginning.left)
        return max(*begun, (sum(begun[beginning.closed :]) + work) / (2 - beginning.closed or 1))

    def plan(chosen: Arrangement, below_s: float) -> tuple[float, None] | None:
        length = max(spent(one) for one in chosen[0].values())
        return (length, None) if length < below_s else None

    orders = Orders(
        pools=[ids], people=PEOPLE, may=dict.fromkeys(ids, PEOPLE), bound=bound, plan=plan
    )
    found = best_order(orders, ({"EV1": ids, "EV2": ()},), MANY)
    assert found.proven
    assert found.total_s == by_cp_sat(takes, way, "home")
