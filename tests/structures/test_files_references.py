"""Rules across elements, on records made in Python and on plain tables."""

from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from structures.built_in import BUILT_IN_BODIES, built_in_bodies
from structures.elements import Condition, Handrail, Item, Person, Worksite
from structures.model import Structure
from structures.references import _BUILT_IN, check_references
from tests.draws import draws

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
    assert found[1].remedy == "'rail' is a handrail; name a socket instead"
    assert "did you mean rail?" in found[2].remedy
    plain = structure.model_dump(by_alias=True)
    assert check_references(plain) == found


def test_list_that_could_not_be_read_may_hold_any_id() -> None:
    lists: dict[str, Any] = {"handrails": None, "conditions": [{"id": "c", "closes": ["rail"]}]}
    (said,) = check_references(lists)
    assert said.place == "handrails"
    assert said.message.startswith("references to handrails are not checked")
    assert check_references({**lists, "conditions": [{"id": "c"}]}) == ()
    lists["handrails"] = []
    assert places(check_references(lists)) == ["conditions[0].closes"]


@pytest.mark.parametrize(
    ("sockets", "remedy"),
    [
        (["s1"], "there is only s1; name one, or add it first"),
        ([f"s{i}" for i in range(1, 4)], "there are s1, s2 and s3; name one, or add it first"),
        ([f"s{i}" for i in range(9)], "nearest among 9: "),
        ([], "add it first"),
    ],
)
def test_ids_that_are_nothing_like_it_are_named(sockets: list[str], remedy: str) -> None:
    (problem,) = check_references(
        {
            "sockets": [{"id": one} for one in sockets],
            "worksites": [{"id": "w", "socket": "elsewhere"}],
        }
    )
    assert problem.remedy.startswith(remedy)


def test_plain_tables_of_any_sort_do_no_harm() -> None:
    odd = [None, 3, "id", [], {}, {"id": None}, {"id": ["a"]}, {"id": "x", "closes": 5}]
    odd += [{"id": "y", "closes": [["a"], {}, None]}]
    lists: dict[str, Any] = {"conditions": odd, "items": odd[:7], "worksites": odd[:7]}
    assert check_references(lists) == ()


@settings(deadline=None, derandomize=True, max_examples=draws(200))
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


def test_built_in_bodies_may_be_named_where_none_are_listed() -> None:
    people = (Person(id="EV1", body="smaller"), Person(id="EV2", body="tiny"))
    bare = Structure(name="", revision="", people=people)
    assert places(check_references(bare)) == ["people[1].body"]
    own = bare.model_copy(update={"bodies": (built_in_bodies()[0].model_copy(update={"id": "x"}),)})
    assert places(check_references(own)) == ["people[0].body", "people[1].body"]
    lists = own.model_dump(by_alias=True) | {"bodies": None}
    assert [one.message for one in check_references(lists)] == [
        "references to bodies are not checked as long as their list cannot be read"
    ]
    assert _BUILT_IN["bodies"] == BUILT_IN_BODIES
