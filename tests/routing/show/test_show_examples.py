"""Maps of the examples: every panel of every example, and no label collides."""

from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest

from routing.show.maps.closure_costs import ClosureCost, compose_closure_costs
from routing.show.maps.faces import compose_faces
from routing.show.maps.from_route import map_route
from routing.show.maps.maps import compose_map
from routing.show.maps.return_times import ReturnTimes, TimedGrip, compose_return_times
from routing.show.maps.unrolled import compose_unrolled
from routing.show.pack.material import ways_of
from routing.show.sheets.inputs import DrawingError, MapFacts, region_around
from routing.show.sheets.style import SHEETS_IN, MapStyle
from structures.files import read_structure
from structures.shapes import Box, Cylinder
from structures.views import VIEWS
from tests.routing.show.pack_ground import small_material
from tests.routing.show.show_ground import covered, overlaps, straight_route

EXAMPLES = Path(__file__).parents[3] / "examples"
DOCUMENTS = sorted(EXAMPLES.glob("*/*.toml"))
STRUCTURES = [path for path in DOCUMENTS if path.stem == path.parent.name]


def test_there_are_examples() -> None:
    assert {"small", "station"} <= {path.stem for path in STRUCTURES}


@pytest.mark.parametrize("sheet", ["A3", "A1"])
@pytest.mark.parametrize("path", STRUCTURES, ids=lambda path: path.stem)
def test_no_label_collides_in_any_view(path: Path, sheet: str) -> None:
    structure = read_structure(path)
    rails = structure.handrails
    route = straight_route(structure, rails[0].id[:2], "EV1")
    drawn = compose_map(
        structure, views=tuple(VIEWS), routes=(route,), style=MapStyle(sheet_in=SHEETS_IN[sheet])
    )
    for panel in drawn.panels:
        assert overlaps(panel) == [], panel.name
        assert covered(panel) == [], panel.name


@pytest.mark.parametrize("path", STRUCTURES, ids=lambda path: path.stem)
def test_no_label_collides_with_several_routes_costs_or_times(path: Path) -> None:
    structure = read_structure(path)
    rails = structure.handrails
    routes = tuple(
        straight_route(structure, rail.id[:2], f"EV{number}")
        for number, rail in enumerate((rails[0], rails[-1]), start=1)
    )
    costs = [
        ClosureCost(element=rail.id, cuts_off=i % 3, most_extra_s=40.0 * (i % 12))
        for i, rail in enumerate(rails[:60])
    ]
    times = ReturnTimes(
        grips=tuple(
            TimedGrip(
                id=f"{rail.id}@0.000", element=rail.id, along_m=0.0, position_m=rail.points_m[0],
                reached=True, seconds=12.0 * i,
            )
            for i, rail in enumerate(rails)
        ),
        limit_s=600.0,
        reach_m=0.6,
    )  # fmt: skip
    facts = MapFacts(subject="labels")
    for drawn in (
        compose_map(structure, views=("plan", "aft"), routes=routes),
        compose_closure_costs(structure, costs, facts=facts),
        compose_return_times(structure, times, facts=facts),
    ):
        for panel in drawn.panels:
            assert overlaps(panel) == [], panel.name
            assert covered(panel) == [], panel.name


def test_no_label_collides_with_real_routes_side_by_side_and_one_unsafe() -> None:
    planned = small_material().planned
    structure = planned.ground.structure
    ways = [
        map_route(structure, way.trip.route, way.person)
        for way in ways_of(planned)
        if way.trip.route is not None
    ]
    assert len(ways) == 6
    unsafe = replace(ways[1], unsafe=True, runs_out_m=ways[1].grips_m[-1])
    for routes in ((ways[2], unsafe), tuple(ways[2:5])):
        region = region_around(routes)
        for panel in compose_map(structure, routes=routes, region=region).panels:
            assert overlaps(panel) == [], panel.name
            assert covered(panel) == [], panel.name
            assert any(one.label.kind == "person" for one in panel.placed)


@pytest.mark.parametrize("path", STRUCTURES, ids=lambda path: path.stem)
def test_no_label_collides_on_any_face(path: Path) -> None:
    structure = read_structure(path)
    boxes = [one.id for one in structure.solids if isinstance(one.volume, Box)]
    named = set()
    for solid in boxes:
        drawn = None
        with suppress(DrawingError):  # nothing stands on some of them
            drawn = compose_faces(structure, solid)
        for panel in () if drawn is None else drawn.panels:
            assert overlaps(panel) == [], solid
            assert covered(panel) == [], solid
            named |= {one.label.text for one in panel.placed if one.label.kind == "handrail"}
    assert len(named) >= 4


@pytest.mark.parametrize("path", STRUCTURES, ids=lambda path: path.stem)
def test_no_label_collides_on_any_skin(path: Path) -> None:
    structure = read_structure(path)
    cylinders = [one.id for one in structure.solids if isinstance(one.volume, Cylinder)]
    assert cylinders
    for solid in cylinders[:6]:
        for panel in compose_unrolled(structure, solid).panels:
            assert overlaps(panel) == [], solid
            assert covered(panel) == [], solid
