"""Graphs that are built together, against each built alone: the same to the last bit."""

from dataclasses import fields

import numpy as np
import pytest

from routing.graph import ways
from routing.graph.build import GraphBuilder, build_graph
from routing.graph.situation import Situation
from routing.limits import Limits
from structures.elements import Item, Person
from structures.files.reader import read_structure
from structures.solids.sweep import Sweep, Verdicts, sweep_verdicts
from structures.solids.tables import Shapes
from tests.routing.graph.graph_structures import flat_deck, rail, random_structure
from tests.routing.graph.test_graph_moves import STATION

BOX = Item(id="box", name="Box", size_m=(0.6, 0.4, 0.3), mass_kg=12.0)
LIKE_BOX = BOX.model_copy(update={"id": "like-box", "mass_kg": 80.0})
DRUM = BOX.model_copy(update={"id": "drum", "size_m": (0.9, 0.9, 0.3)})
TALL = Person(id="tall", name="Tall", reach_m=0.75, corridor_radius_m=0.6)


def situations(when: tuple[str, ...], closed: tuple[str, ...]) -> list[Situation]:
    """Every load, person and manner, under conditions and none, with closures and none."""
    return [
        Situation(person=person, carry=carry, when=some, closed=shut, tow=tow)
        for person in (None, TALL)
        for carry, tow in ((None, False), (BOX, False), (LIKE_BOX, False), (None, True))
        for some in {(), when}
        for shut in {(), closed}
    ]


def assert_alike(builder: GraphBuilder, situation: Situation) -> None:
    shared, alone = builder.build(situation, hooks=True), build_graph(builder.structure, situation)
    assert shared.situation == alone.situation
    for part in ("grips", "moves", "hooks"):
        one, other = getattr(shared, part), getattr(alone, part)
        for field in fields(one):
            got, wanted = getattr(one, field.name), getattr(other, field.name)
            assert np.array_equal(got, wanted), (situation, part, field.name)
    assert shared.surroundings == alone.surroundings


@pytest.mark.parametrize("draw", range(4))
def test_graphs_built_together_are_those_built_alone(draw: int) -> None:
    structure = random_structure(draw)
    builder = GraphBuilder(structure)
    when = tuple(sorted(one.id for one in structure.conditions))
    closed = tuple(sorted(one.id for one in structure.handrails[:2]))
    for situation in situations(when, closed):
        assert_alike(builder, situation)


@pytest.mark.parametrize("draw", range(6))
def test_graphs_that_are_expected_are_those_built_alone(draw: int) -> None:
    structure = random_structure(draw)
    when = tuple(sorted(one.id for one in structure.conditions))
    closed = tuple(sorted(one.id for one in structure.handrails[:1]))
    asked = situations(when, closed)
    np.random.default_rng(draw).shuffle(asked)
    builder = GraphBuilder(structure)
    builder.expect(asked)
    for situation in asked:
        assert_alike(builder, situation)


def test_they_are_on_the_station_with_its_zones() -> None:
    builder = GraphBuilder(read_structure(STATION))
    asked = (
        Situation(),
        Situation(carry=BOX),
        Situation(carry=LIKE_BOX),
        Situation(person=TALL, carry=DRUM),
        Situation(tow=True),
    )
    builder.expect(asked)
    for situation in asked:
        assert_alike(builder, situation)


def test_what_larger_bodies_tell_is_not_looked_at_again(monkeypatch: pytest.MonkeyPatch) -> None:
    looked: list[int] = []

    def counted(shapes: Shapes, sweep: Sweep, radius_m: float) -> Verdicts:
        looked.append(len(sweep))
        return sweep_verdicts(shapes, sweep, radius_m)

    monkeypatch.setattr(ways, "sweep_verdicts", counted)
    rails = [rail(f"H{i}", (0.4 * i, 0.0, -0.07), (0.4 * i, 1.3, -0.07)) for i in range(4)]
    asked = [Situation(carry=BOX), Situation(tow=True), Situation(carry=DRUM)]
    builder = GraphBuilder(flat_deck(*rails))
    for situation in asked:
        build_graph(builder.structure, situation)
    alone = sum(looked)
    looked.clear()
    builder.expect(asked)
    for situation in asked:
        builder.build(situation)
    assert sum(looked) == alone / len(asked) > 0


def test_other_limits_share_nothing_that_depends_on_them() -> None:
    builder = GraphBuilder(random_structure(3))
    for limits in (Limits(), Limits(hook_reach_m=1.4), Limits(grip_spacing_m=0.4, max_lean_deg=0)):
        assert_alike(builder, Situation(limits=limits))


def test_where_nobody_leans_they_are_those_built_alone_too() -> None:
    limits = Limits(max_lean_deg=0)
    asked = [Situation(limits=limits, carry=carry) for carry in (None, BOX, DRUM)]
    builder = GraphBuilder(random_structure(5))
    builder.expect(asked)
    for situation in asked:
        assert_alike(builder, situation)
    assert not builder.build(asked[-1]).grips.usable.all()


def test_loads_of_one_size_have_the_very_same_moves() -> None:
    builder = GraphBuilder(random_structure(1))
    one, other = (builder.build(Situation(carry=carry)) for carry in (BOX, LIKE_BOX))
    assert one.moves is other.moves
    assert one.situation.carry == BOX
    assert other.situation.carry == LIKE_BOX
    assert builder.build(Situation(carry=DRUM)).moves is not one.moves
