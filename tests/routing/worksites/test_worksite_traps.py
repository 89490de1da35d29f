"""Worksites that look fine and are not: each was once, or could have been, answered with ok."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.worksites.bags.near_worksite import find_bag_places
from routing.worksites.cables.runs import find_cable_runs
from routing.worksites.restraints.at_worksite import restraint_reach, restraint_verdict
from routing.worksites.restraints.checks import CHECKS, check_settings
from routing.worksites.restraints.poses import plate_poses
from routing.worksites.restraints.records import WorksiteRestraint
from routing.worksites.sight.lines import view_face
from routing.worksites.sight.vantage import sight_of
from structures.built_in import built_in_bodies
from structures.cables import Connector
from structures.elements import Solid, Zone
from structures.faces import Camera, Face
from structures.files import read_structure, write_structure
from structures.model import Structure
from structures.shapes import Box, Sphere
from tests.crosscheck.test_bags_plain import BAG, LIMITS, scene
from tests.routing.worksites.restraint_ground import (
    COARSE,
    DECK,
    FIXED,
    ON_WALL,
    SOCKET,
    WALL,
    deck,
)

STATION = Path(__file__).parents[3] / "examples" / "station" / "station.toml"


def verdict(structure: Structure) -> WorksiteRestraint:
    """In short and in full, which must agree."""
    worksite = structure.worksites[0]
    short = restraint_verdict(structure, worksite, Situation())
    full = restraint_reach(structure, worksite, Situation(), in_short=True)
    assert (short.verdict, short.reason) == (full.verdict, full.reason)
    return short


@pytest.mark.parametrize("thick_m", [0.0002, 0.002, 0.004])
def test_a_cover_thinner_than_the_lines_end_off_the_target_hides_it(thick_m: float) -> None:
    assert verdict(deck()).verdict == "ok"
    sheet = Box(center_m=(0.5 - thick_m / 2, 0.1, 1.85), size_m=(thick_m, 0.2, 0.2))
    found = verdict(deck(solids=[DECK, WALL, Solid(id="sheet", volume=sheet)]))
    assert found.verdict == "no setting"
    assert "hidden from the helmet" in (found.reason or "")


def test_a_thin_zone_on_a_target_keeps_hands_off_it_but_not_eyes() -> None:
    film = Zone(id="film", volume=Box(center_m=(0.499, 0.1, 1.85), size_m=(0.002, 0.2, 0.2)))
    found = verdict(deck(zones=[film]))
    assert found.verdict == "no setting"
    assert "hidden from the shoulder" in (found.reason or "")


def test_a_target_a_little_inside_its_own_skin_is_taken_for_rounding() -> None:
    inside = ON_WALL.model_copy(update={"position_m": (0.502, 0.1, 1.85)})
    assert verdict(deck(inside)).verdict == "ok"


def test_facing_turned_round_is_never_ok() -> None:
    turned = ON_WALL.model_copy(update={"facing": (1.0, 0.0, 0.0)})
    assert verdict(deck(turned)).verdict == "no setting"


def test_a_socket_normal_turned_round_is_never_ok() -> None:
    structure = deck()
    turned = SOCKET.model_copy(update={"normal": (0.0, 0.0, -1.0)})
    found = verdict(structure.model_copy(update={"sockets": (turned,)}))
    assert found.verdict == "no setting"


@pytest.mark.parametrize("applies_to", [("body",), ("item",)])
def test_a_socket_in_a_keep_out_zone_takes_no_restraint(applies_to: tuple[str, ...]) -> None:
    """The zone is so small that neither boots nor legs come near it."""
    ball = Sphere(center_m=(0.0, 0.0, 0.0), radius_m=0.05)
    zone = {"id": "Z", "volume": ball, "applies_to": applies_to}
    found = verdict(deck(zones=[Zone.model_validate(zone)]))
    assert found.verdict == "no setting"
    assert f"socket S1 is in keep-out zone Z (for {applies_to[0]})" in (found.reason or "")
    assert verdict(
        deck(zones=[Zone.model_validate({**zone, "kind": "slow-down", "slow_factor": 2.0})])
    ).safe
    line = Zone.model_validate({**zone, "applies_to": ("tether",)})
    assert verdict(deck(zones=[line])).verdict == "ok"


@pytest.mark.parametrize(
    ("applies_to", "in_the_way"), [(("body",), True), (("item",), True), (("tether",), False)]
)
def test_links_of_a_restraint_do_not_stand_in_a_zone(
    applies_to: tuple[str, ...], *, in_the_way: bool
) -> None:
    """A ball about the middle of the second link, out of reach of boots and legs."""
    ball = Sphere(center_m=(0.0, 0.0, 0.28), radius_m=0.03)
    zone = Zone.model_validate({"id": "Z", "volume": ball, "applies_to": applies_to})
    poses = plate_poses(COARSE, SOCKET)
    straight = np.flatnonzero(np.abs(poses.place_m - [0.0, 0.0, 0.5]).max(axis=1) < 1e-9)
    around = survey(deck(zones=[zone]), Situation()), 60.0
    checked = check_settings(poses.take(straight), COARSE, built_in_bodies(), [ON_WALL], around)
    at = CHECKS.index("restraint in the way")
    assert (~checked.passes[:, :, at]).any() == in_the_way
    assert checked.passes[:, :, at - 1].all()


def test_a_zone_for_items_alone_that_only_the_restraint_is_in_is_told() -> None:
    """The plate stands in it, so nothing works; bodies and lines of sight may be in it."""
    ball = Sphere(center_m=(0.0, 0.0, 0.4), radius_m=0.05)
    straight = FIXED.model_copy(update={"id": "straight"})
    zone = Zone(id="Z", volume=ball, applies_to=("item",))
    assert verdict(deck(restraints=[straight])).verdict == "ok"
    found = verdict(deck(restraints=[straight], zones=[zone]))
    assert found.verdict == "no setting"
    assert "(Z)" in (found.reason or "")
    line = zone.model_copy(update={"applies_to": ("tether",)})
    assert verdict(deck(restraints=[straight], zones=[line])).verdict == "ok"


def test_a_restraint_in_inches_is_the_same_restraint(tmp_path: Path) -> None:
    path = tmp_path / "deck.json"
    write_structure(deck(), path)
    document = json.loads(path.read_text())
    assert document["length_unit"] == "m"
    path.write_text(json.dumps(_in_inches(document)))
    metres, inches = verdict(deck()), verdict(read_structure(path))
    assert inches.margin_m == pytest.approx(metres.margin_m, abs=1e-9)
    assert inches.setting is not None
    assert metres.setting is not None
    assert inches.setting.joints_deg == metres.setting.joints_deg


_NO_LENGTHS = {"normal", "clock_zero", "facing", "axis", "x_axis", "y_axis"}
_COUNTS = {"schema_version", "clock_positions", "hands", "rating_n", "rating_nm"}


def _in_inches(value: Any, key: str = "") -> Any:
    """Turn every length of a document into inches by the names of its keys."""
    if key in _NO_LENGTHS | _COUNTS or key.endswith("_deg"):
        return value
    if isinstance(value, dict):
        return {
            one: "in" if one == "length_unit" else _in_inches(v, one) for one, v in value.items()
        }
    if isinstance(value, list):
        return [_in_inches(one, key) for one in value]
    return (
        value / 0.0254 if isinstance(value, float | int) and not isinstance(value, bool) else value
    )


PLATE = Solid(id="plate", volume=Box(center_m=(0.0, 0.0, -0.05), size_m=(4.0, 4.0, 0.1)))
FACE = Face(id="F", center_m=(0.0, 0.0, 0.0), normal=(0, 0, 1), across=(1, 0, 0), size_m=(1.0, 0.5))
CAMERA = Camera(id="C", nearest_m=0.4, farthest_m=3.5, incidence_deg=60.0, held_out_m=0.3)


@pytest.mark.parametrize(
    ("sheet", "seen"),
    [(None, 1.0), (0.001, 0.0), (0.004, 0.0)],
    ids=["bare", "1 mm sheet", "4 mm sheet"],
)
def test_a_face_under_a_thin_sheet_is_not_seen(sheet: float | None, seen: float) -> None:
    solids = [PLATE]
    if sheet is not None:
        cover = Box(center_m=(0.0, 0.0, sheet / 2), size_m=(2.0, 2.0, sheet))
        solids.append(Solid(id="sheet", volume=cover))
    structure = Structure(name="face", revision="A", solids=tuple(solids))
    around = survey(structure, Situation()).solids
    place = np.array([[0.0, 0.0, 1.5]])
    assert view_face(FACE, CAMERA, place, around).sees.mean() == seen
    turned = FACE.model_copy(update={"normal": (0.0, 0.0, -1.0)})
    assert not view_face(turned, CAMERA, place, around).sees.any()


def test_no_camera_is_held_out_through_a_wall() -> None:
    """The body has room before the wall, the camera would be past it, in sight of the face."""
    wall = Solid(id="wall", volume=Box(center_m=(0.0, 0.0, -0.9), size_m=(4.0, 4.0, 0.05)))
    face = Face(
        id="F", center_m=(0.0, 0.0, -3.0), normal=(0, 0, 1), across=(1, 0, 0), size_m=(0.5, 0.5)
    )
    camera = CAMERA.model_copy(update={"held_out_m": 1.0})
    free = scene([])
    shut = free.model_copy(update={"solids": (wall,)})
    found = [
        sight_of(build_graph(one, Situation(limits=LIMITS)), face, start="W", camera=camera)
        for one in (free, shut)
    ]
    assert [one.verdict for one in found] == ["seen from one place", "not seen"]


def test_no_arm_ties_a_bag_through_a_zone_that_bodies_keep_out_of() -> None:
    """A zone for bodies between the hands and the handrail, far from where the bag hangs."""
    free = scene([(0.9, 0.0, 0.0)])
    shut = scene([(0.9, 0.0, 0.0)], zones=[((0.65, 0.0, 0.0), 0.02)], applies=("body",))

    def places(structure: Structure) -> dict[str, str | None]:
        graph = build_graph(structure, Situation(limits=LIMITS))
        found = find_bag_places(graph, "W", BAG)
        return {one.handrail: None for one in found.places} | {
            one.handrail: one.reason for one in found.others
        }

    assert places(free)["H1"] is None
    assert "zone Z0 stands between the hands and it" in (places(shut)["H1"] or "")


def test_a_handrail_behind_a_zone_is_not_told_as_out_of_reach_alone() -> None:
    """What is near enough of it is behind the zone; the rest is a little out of reach."""
    shut = scene([(0.9, 0.0, 0.0)], zones=[((0.65, 0.0, 0.0), 0.02)], applies=("body",))
    (rail,) = (one for one in shut.handrails if one.id == "H1")
    x, y, z = rail.points_m[0]
    longer = rail.model_copy(update={"points_m": (*rail.points_m, (x + 2.0, y, z))})
    rails = tuple(longer if one is rail else one for one in shut.handrails)
    structure = shut.model_copy(update={"handrails": rails})
    graph = build_graph(structure, Situation(limits=LIMITS))
    (reason,) = (
        one.reason for one in find_bag_places(graph, "W", BAG).others if one.handrail == "H1"
    )
    assert "zone Z0 stands between the hands and it" in reason


def test_a_connector_that_leads_into_a_solid_is_said_to() -> None:
    station = read_structure(STATION)
    turned = tuple(
        one.model_copy(update={"normal": tuple(-part for part in one.normal)})
        if one.id == "CNE01"
        else one
        for one in station.connectors
    )
    assert isinstance(turned[0], Connector)
    structure = station.model_copy(update={"connectors": turned})
    found = find_cable_runs(structure, "CBE01", ("CNE01", "CNE02"), Situation())
    assert not found.safe
    assert "connector CNE01 leads the cable into solid workshop" in (found.reason or "")
    assert "turn its normal round" in (found.reason or "")


@pytest.mark.parametrize(
    ("wide_m", "said"), [(0.02, True), (0.05, True), (0.07, False)], ids=["slat", "bar", "beam"]
)
def test_a_slat_that_may_hide_a_strip_between_samples_is_pointed_out(
    wide_m: float, *, said: bool
) -> None:
    """Samples are 1/24 m apart: what is thinner than 59 mm may hide a strip that none is in."""
    slat = Box(center_m=(0.0, 0.0, -1.9), size_m=(wide_m, 0.6, 0.2))
    structure = scene([]).model_copy(update={"solids": (Solid(id="slat", volume=slat),)})
    face = Face(
        id="F", center_m=(0.0, 0.0, -2.1), normal=(0, 0, 1), across=(1, 0, 0), size_m=(0.5, 0.5)
    )
    graph = build_graph(structure, Situation(limits=LIMITS))
    found = sight_of(graph, face, start="W", camera=CAMERA)
    assert ([one.code for one in found.findings if "thin" in one.code] != []) == said
