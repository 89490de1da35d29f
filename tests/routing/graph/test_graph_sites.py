import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.hooks import hook_places
from routing.graph.reach_graph import GripKind
from routing.graph.sites import site_grips
from routing.graph.situation import Situation
from structures.elements import (
    Condition,
    Handrail,
    Hatch,
    Item,
    Person,
    Socket,
    Solid,
    TetherPoint,
    Worksite,
    Zone,
)
from structures.errors import UnknownIdError
from structures.model import Structure
from structures.shapes import Box

UP = (0.0, 0.0, -1.0)


def deck(**lists: object) -> Structure:
    """A flat deck of 10 m x 10 m, its top face at z = 0, with two rails in line on it."""
    content: dict[str, object] = {
        "name": "deck",
        "revision": "1",
        "solids": (
            Solid(id="deck", volume=Box(center_m=(0.0, 0.0, 1.0), size_m=(10.0, 10.0, 2.0))),
        ),
        "handrails": (
            Handrail(id="H1", points_m=((0.0, 0.0, -0.07), (1.0, 0.0, -0.07)), normal=UP),
            Handrail(id="H2", points_m=((1.4, 0.0, -0.07), (2.4, 0.0, -0.07)), normal=UP),
        ),
        "sockets": (
            Socket(id="S1", position_m=(2.8, 0.0, -0.07), normal=UP, clock_zero=(1.0, 0.0, 0.0)),
        ),
        "tether_points": (TetherPoint(id="T1", position_m=(0.5, 0.3, 0.0)),),
        "hatches": (Hatch(id="A1", position_m=(-0.4, 0.0, -0.07), normal=UP, tether_point="T1"),),
        "worksites": (
            Worksite(id="W1", socket="S1"),
            Worksite(id="W2", handrail="H2", place_m=(1.73, 0.5, 0.0)),
        ),
    }
    content.update(lists)
    return Structure.model_validate(content)


def ids(structure: Structure, site: str, situation: Situation | None = None) -> list[str]:
    graph = build_graph(structure, situation or Situation())
    return [graph.grips.ids[i] for i in site_grips(graph, site).grips]


@pytest.mark.parametrize(
    ("site", "expected"),
    [
        ("S1", ["S1"]),
        ("A1", ["A1"]),
        ("W1", ["S1"]),
        ("W2", ["H2@0.330"]),
        ("H2@0.250", ["H2@0.250"]),
        ("T1", ["H1@0.000", "H1@0.250", "H1@0.500", "H1@0.750", "H1@1.000"]),
    ],
)
def test_a_site_is_its_grips(site: str, expected: list[str]) -> None:
    assert ids(deck(), site) == expected


def test_a_handrail_is_all_its_grips() -> None:
    assert ids(deck(), "H1") == [f"H1@{along:.3f}" for along in (0, 0.25, 0.5, 0.75, 1)]


def test_kinds_of_grips() -> None:
    grips = build_graph(deck(), Situation()).grips
    kinds = dict(zip(grips.element_ids, grips.kind.tolist(), strict=True))
    assert kinds == {
        "A1": GripKind.HATCH,
        "H1": GripKind.HANDRAIL,
        "H2": GripKind.HANDRAIL,
        "S1": GripKind.SOCKET,
    }


@pytest.mark.parametrize("site", ["H9", "deck", "H1@0.251", "H9@0.250"])
def test_an_unknown_site_names_the_nearest(site: str) -> None:
    graph = build_graph(deck(), Situation())
    with pytest.raises(UnknownIdError, match=site):
        site_grips(graph, site)


def test_what_is_closed_has_no_grips() -> None:
    for closed in ("H1", "S1", "A1", "T1"):
        assert ids(deck(), closed, Situation(closed=(closed,))) == []
    assert ids(deck(), "W2", Situation(closed=("H2",))) == []


@pytest.mark.parametrize(("off_m", "reached"), [(0.6096, True), (0.6097, False), (60.0, False)])
def test_a_place_out_of_reach_of_its_grip_has_none(off_m: float, *, reached: bool) -> None:
    # The default reach is 24 in, from the grip at x = 1.73 m straight to the place.
    site = Worksite(id="W2", handrail="H2", place_m=(1.73, off_m, -0.07))
    graph = build_graph(deck(worksites=(site,)), Situation())
    places = site_grips(graph, "W2")
    assert [graph.grips.ids[i] for i in places.grips] == (["H2@0.330"] if reached else [])
    assert bool(places.too_far) is not reached
    assert places.why_none.startswith("worksite W2 has" if reached else "the place of worksite W2")


def test_a_place_beyond_the_end_of_its_rail_is_measured_from_the_end() -> None:
    past = Worksite(id="W2", handrail="H2", place_m=(2.4 + 2.0, 0.0, -0.07))
    graph = build_graph(deck(worksites=(past,)), Situation())
    assert "2.00 m from the nearest grip of its handrail H2" in site_grips(graph, "W2").too_far


def test_what_is_carried_does_not_move_a_worksite_out_of_reach() -> None:
    # 0.6 m: more than a loaded person hands over, but at the work the load is put down.
    site = Worksite(id="W2", handrail="H2", place_m=(1.73, 0.6, -0.07))
    item = Item(id="box", size_m=(0.3, 0.3, 0.3), mass_kg=5.0)
    structure = deck(worksites=(site,), items=(item,))
    loaded = Situation(carry=item)
    assert loaded.ability.reach_m < 0.6 < loaded.free_reach_m
    assert ids(structure, "W2", loaded) == ["H2@0.330"]
    short = Person(id="P", reach_m=0.5)
    assert ids(structure, "W2", Situation(person=short)) == []


def test_conditions_close_handrails() -> None:
    structure = deck(conditions=(Condition(id="loose", closes=("H1",)),))
    graph = build_graph(structure, Situation(when=("loose",)))
    assert "H1" not in graph.grips.element_ids
    assert graph.situation.closed == ("H1",)


def test_closing_an_unknown_id_is_an_error() -> None:
    with pytest.raises(UnknownIdError, match="H7"):
        build_graph(deck(), Situation(closed=("H7",)))


def test_hooks_reach_no_farther_than_their_limit_and_give_the_distance() -> None:
    places = hook_places(build_graph(deck(), Situation()), ("T1",))
    reach_m = Situation().limits.hook_reach_m
    along_m = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
    by_hand = np.sqrt((along_m - 0.5) ** 2 + 0.3**2 + 0.07**2)
    assert (by_hand <= reach_m).all()
    np.testing.assert_allclose(places.distance_m, by_hand, rtol=0, atol=1e-12)


def test_hooks_do_not_reach_through_solids_or_zones_for_tethers() -> None:
    wall = Box(center_m=(0.5, 0.15, -0.03), size_m=(0.1, 0.02, 0.06))
    thin = build_graph(deck(), Situation())
    assert len(hook_places(thin, ("T1",)).grip) == 5
    solid = deck(solids=(*deck().solids, Solid(id="fin", volume=wall)))
    found = hook_places(build_graph(solid, Situation()), ("T1",))
    assert thin.grips.ids[found.grip[0]] == "H1@0.000"
    assert len(found.grip) == 4
    zone = deck(zones=(Zone(id="Z", volume=wall, applies_to=("tether",)),))
    assert len(hook_places(build_graph(zone, Situation()), ("T1",)).grip) == 4
    other = deck(zones=(Zone(id="Z", volume=wall, applies_to=("item",)),))
    assert len(hook_places(build_graph(other, Situation()), ("T1",)).grip) == 5


def test_hook_places_of_several_points_keep_the_order_asked_for() -> None:
    points = (*deck().tether_points, TetherPoint(id="T2", position_m=(2.0, 0.3, 0.0)))
    places = hook_places(build_graph(deck(tether_points=points), Situation()), ("T2", "T1"))
    assert places.tether_points == ("T2", "T1")
    assert places.of(1).stop - places.of(1).start == 5
    assert (np.diff(places.point) >= 0).all()
