"""What is exactly at a limit holds, in whichever unit it is given; what is over it does not.

Documents of round numbers are read in inches, feet and metres: the same numbers come
to metres with another rounding each, which must not decide.
"""

import json
import math
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.graph.surroundings import Named
from routing.limits import Limits
from routing.worksites.bags.near_worksite import BagAnswer, find_bag_places
from routing.worksites.cables.runs import CableRun, find_cable_runs
from routing.worksites.restraints.at_worksite import restraint_verdict
from routing.worksites.sight.lines import view_face
from structures.elements import Item
from structures.faces import Camera, Face
from structures.files import read_structure
from structures.model import Structure
from structures.units import METRES_PER_UNIT, LengthUnit

UNITS: tuple[LengthUnit, ...] = ("in", "ft", "m")
units = pytest.mark.parametrize("unit", UNITS)


def read(folder: Path, unit: str, **lists: Any) -> Structure:
    path = folder / "s.json"
    head = {"schema_version": 1, "length_unit": unit, "name": "edge", "revision": "A"}
    path.write_text(json.dumps(head | lists), encoding="utf-8")
    return read_structure(path)


def straight(pieces: int, step: float, length: float, spacing: float) -> dict[str, Any]:
    """Connectors some steps apart, a tie at each step, a loop of 1.1 at both ends."""
    end = [step * pieces, 0.0, 0.0]
    return {
        "connectors": [
            {"id": "C1", "position": [0.0, 0.0, 0.0], "normal": [1, 0, 0]},
            {"id": "C2", "position": end, "normal": [-1, 0, 0]},
        ],
        "cable_ties": [{"id": f"T{k}", "position": [step * k, 0, 0]} for k in range(1, pieces)],
        "cables": [
            {
                "id": "K",
                "length": length,
                "bend_radius": 1.0,
                "service_loop": 1.1,
                "spacing": spacing,
            }
        ],
    }


def laid(structure: Structure, **limits: float) -> CableRun | str | None:
    found = find_cable_runs(structure, "K", ("C1", "C2"), Situation(limits=Limits(**limits)))
    return found.best or found.reason


@units
def test_a_cable_as_long_as_needed_with_ties_as_far_apart_as_allowed(
    tmp_path: Path, unit: LengthUnit
) -> None:
    tiny = 1e-6 / METRES_PER_UNIT[unit]
    for pieces, step in product((2, 5), (7.0, 9.3, 10.1)):
        needed = pieces * step * 1.05 + 2.2
        found = laid(read(tmp_path, unit, **straight(pieces, step, needed, step)))
        assert isinstance(found, CableRun), found
        assert (found.verdict, found.spare_m) == ("ok", 0.0)
    short = laid(read(tmp_path, unit, **straight(5, 7.0, 5 * 7.0 * 1.05 + 2.2 - tiny, 7.0)))
    assert isinstance(short, CableRun)
    assert short.verdict == "too short"
    assert "the cable is 1 mm too short" in str(short.reason)
    apart = laid(read(tmp_path, unit, **straight(5, 7.0, 100.0, 7.0 - tiny)))
    assert "without the spacing of ties" in str(apart) or "no chain of ties" in str(apart)


@units
@pytest.mark.parametrize("turn_deg", [30.0, 60.0, 90.0])
def test_a_bend_as_tight_as_allowed(tmp_path: Path, unit: LengthUnit, turn_deg: float) -> None:
    radius, turn = 2.3, math.radians(turn_deg)
    along = 2 * radius * math.tan(turn / 2)
    play_m = radius * (1 / math.cos(turn / 2) - 1) * METRES_PER_UNIT[unit]
    on = np.array([math.cos(turn), math.sin(turn), 0.0])
    tie = np.array([2 * radius + along, 0.0, 0.0])
    lists = straight(1, 1.0, 100.0, along + 2 * radius + 0.1) | {
        "connectors": [
            {"id": "C1", "position": [0.0, 0.0, 0.0], "normal": [1, 0, 0]},
            {
                "id": "C2",
                "position": (tie + (along + 2 * radius) * on).tolist(),
                "normal": (-on).tolist(),
            },
        ],
        "cable_ties": [{"id": "T1", "position": tie.tolist()}],
    }
    lists["cables"][0]["bend_radius"] = radius
    loose = {"cable_loose_m": 1e4}
    found = laid(read(tmp_path, unit, **lists), cable_play_m=play_m, **loose)
    assert isinstance(found, CableRun), found
    tighter = laid(read(tmp_path, unit, **lists), cable_play_m=play_m - 1e-6, **loose)
    assert "the bend radius" in str(tighter)
    lists["cables"][0]["bend_radius"] = radius + 1e-6 / METRES_PER_UNIT[unit]
    assert "the bend radius" in str(laid(read(tmp_path, unit, **lists), cable_play_m=1.0, **loose))


BAG = Item(id="bag", size_m=(0.02, 0.02, 0.01), mass_kg=1.0)


def bags(structure: Structure, reach_m: float) -> BagAnswer:
    limits = Limits(reach_m=reach_m, corridor_radius_m=0.2, bag_work_clear_m=1e-6)
    return find_bag_places(build_graph(structure, Situation(limits=limits)), "W", BAG)


@pytest.mark.parametrize(("unit", "apart"), [("in", 17.3), ("in", 19.9), ("ft", 1.7), ("m", 0.5)])
def test_a_handhold_as_far_as_a_hand_reaches(
    tmp_path: Path, unit: LengthUnit, apart: float
) -> None:
    """The hand is at 0.3, the handhold as far from it as the reach is long."""
    lists = {
        "handrails": [{"id": "H", "points": [[0.2, 0, 0], [0.3, 0, 0]], "normal": [0, 0, 1]}],
        "handholds": [
            {"id": "K", "position": [0.3 + apart, 0, 0], "normal": [0, 0, 1], "tether_hook": True}
        ],
        "worksites": [{"id": "W", "handrail": "H", "place": [0.3, 0, 0]}],
    }
    structure = read(tmp_path, unit, **lists)
    reach_m = apart * METRES_PER_UNIT[unit]
    assert "K" in [one.handrail for one in bags(structure, reach_m).places]
    less = bags(structure, reach_m - 1e-6)
    assert [one.reason for one in less.others if one.handrail == "K"] == ["out of reach by 1 mm"]


@pytest.mark.parametrize("far_m", [1.1, 3.7, 9.3])
def test_a_camera_as_far_off_and_as_aslant_as_allowed(far_m: float) -> None:
    """The face is smaller than what is forgiven, so that all its samples are at the limit."""
    dot = (1e-9, 1e-9)
    face = Face(id="F", center_m=(0, 0, 0), normal=(0, 0, 1), across=(1, 0, 0), size_m=dot)
    place_m = np.array([[far_m * math.sqrt(3) / 2, 0.0, far_m / 2]])

    def seen(**more: float) -> bool:
        sizes = {"nearest_m": 0.0, "farthest_m": far_m, "incidence_deg": 60.0} | more
        sees = view_face(face, Camera.model_validate({"id": "C"} | sizes), place_m, Named((), ()))
        assert sees.sees.all() == sees.sees.any()
        return bool(sees.sees.all())

    assert seen()
    assert not seen(farthest_m=far_m - 1e-6)
    assert not seen(incidence_deg=60.0 - 1e-5)
    assert seen(nearest_m=far_m, farthest_m=2 * far_m)
    assert not seen(nearest_m=far_m + 1e-6, farthest_m=2 * far_m)


@units
def test_a_target_as_far_as_an_arm_reaches(tmp_path: Path, unit: LengthUnit) -> None:
    """Straight ahead of the left shoulder, one hand; facing the body."""
    body = {
        "id": "B", "height": 1.9, "hip_height": 0.8, "shoulder_height": 1.5, "shoulder_out": 0.2,
        "eye_height": 1.7, "view_angle_deg": 60.0, "one_hand_nearest": 0.1,
        "one_hand_farthest": 0.7, "one_hand_angle_deg": 80.0, "two_hand_forward": 0.3,
        "two_hand_height": 1.4, "two_hand_radius": 0.25, "leg_radius": 0.15,
        "corridor_radius": 0.3,
    }  # fmt: skip
    restraint = {
        "id": "R", "clock_positions": 1, "plate_offset": [0.0, 0.0, 0.5], "boots_length": 0.3,
        "boots_width": 0.3, "rating_n": 1300.0, "rating_nm": 500.0,
    }  # fmt: skip

    def verdict(more: float) -> str:
        target = {"id": "T", "position": [0.1 + 0.7 + more, 0.3 + 0.2, 2.0], "facing": [-1, 0, 0]}
        socket = {"id": "S", "position": [0.1, 0.3, 0.0], "normal": [0, 0, 1]}
        structure = read(
            tmp_path,
            unit,
            bodies=[body],
            restraints=[restraint],
            sockets=[socket | {"clock_zero": [1, 0, 0]}],
            worksites=[{"id": "W", "socket": "S", "targets": [target]}],
        )
        return restraint_verdict(structure, structure.worksites[0], Situation()).verdict

    assert verdict(0.0) == "ok"
    assert verdict(1e-6 / METRES_PER_UNIT[unit]) == "no setting"
