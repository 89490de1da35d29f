"""Rules across elements, on records made in Python and on plain tables."""

from typing import Any

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from structures.elements import Condition, Handrail, Item, Worksite
from structures.model import Structure
from structures.references import check_references

RAIL = Handrail(id="rail", points_m=((0, 0, 0), (1, 0, 0)), normal=(0, 0, 1))


def places(problems: Any) -> list[str]:
    return [problem.place for problem in problems]


def test_records_and_plain_tables_give_the_same_problems() -> None:
    structure = Structure(
        name="",
        revision="",
        handrails=(RAIL, RAIL),
        worksites=(Worksite(id="w", socket="rail"),),
        conditions=(Condition(id="c", closes=("rail", "rial")),),
    )
    found = check_references(structure)
    assert places(found) == ["handrails[1].id", "worksites[0].socket", "conditions[0].closes"]
    assert "'rail' is a handrail" in found[1].remedy
    assert "did you mean rail?" in found[2].remedy
    plain = structure.model_dump(by_alias=True)
    assert check_references(plain) == found


def test_list_that_could_not_be_read_may_hold_any_id() -> None:
    lists: dict[str, Any] = {"handrails": None, "conditions": [{"id": "c", "closes": ["rail"]}]}
    assert check_references(lists) == ()
    lists["handrails"] = []
    assert places(check_references(lists)) == ["conditions[0].closes"]


def test_plain_tables_of_any_sort_do_no_harm() -> None:
    odd = [None, 3, "id", [], {}, {"id": None}, {"id": ["a"]}, {"id": "x", "closes": 5}]
    odd += [{"id": "y", "closes": [["a"], {}, None]}]
    lists: dict[str, Any] = {"conditions": odd, "items": odd[:7], "worksites": odd[:7]}
    assert check_references(lists) == ()


@settings(deadline=None, derandomize=True, max_examples=200)
@given(st.lists(st.integers(-1, 7), min_size=1, max_size=8))
def test_items_stowed_in_rings(within: list[int]) -> None:
    """networkx finds the rings; there must be one problem for each of them."""
    items = [
        Item(
            id=f"i{i}",
            size_m=(1, 1, 1),
            mass_kg=1,
            stowed_at=f"i{at}" if 0 <= at < len(within) else None,
        )
        for i, at in enumerate(within)
    ]
    graph = nx.DiGraph((i, at) for i, at in enumerate(within) if 0 <= at < len(within))
    rings = [set(ring) for ring in nx.simple_cycles(graph)]
    found = check_references(Structure(name="", revision="", items=items))
    named = [
        int(place.removeprefix("items[").removesuffix("].stowed_at")) for place in places(found)
    ]
    assert len(named) == len(rings)
    assert all(sum(one in ring for one in named) == 1 for ring in rings)
