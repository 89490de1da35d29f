"""Worksites of a whole structure: its unit, order and hand change no answer but what they must.

The same yard is read in metres, inches and feet, with its lists shuffled, and mirrored
port to starboard: restraint, tie, view, cable and bag must come out the same.
"""

import json
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.parts import reached_elements
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.worksites.bags.near_worksite import find_bag_places
from routing.worksites.cables.runs import find_cable_runs
from routing.worksites.restraints.at_worksite import restraint_reach
from routing.worksites.sight.vantage import sight_of
from routing.worksites.ties.details import tie_details
from structures.elements import Item, Worksite
from structures.faces import Face
from structures.files import read_structure
from structures.model import Structure
from structures.units import METRES_PER_UNIT

Document: TypeAlias = dict[str, Any]
LIMITS = Limits(corridor_radius_m=0.3, max_turn_deg=140.0)
YARDS = (0, 5)
SAME = 1e-5
"""Metres or degrees: an arc cosine near 1 is right to no more than 1e-6 degrees."""

LENGTHS = {
    "standoff", "radius", "start_radius", "end_radius", "length", "bend_radius", "service_loop",
    "spacing", "stow", "cinched", "extended", "nearest", "farthest", "held_out", "boots_length",
    "boots_width", "boots_height", "size", "offset", "plate_offset",
}  # fmt: skip
POINTS = {"position", "center", "start", "end", "place", "held", "seated", "points"}
DIRECTIONS = {"normal", "clock_zero", "facing", "x_axis", "y_axis", "across"}


def yard(draw: int) -> Document:
    """A wall on a deck that is not level, so that no two ways to lean are alike."""
    random = np.random.default_rng(draw)

    def near(x: float, within: float = 0.08) -> float:
        return round(float(x + random.uniform(-within, within)), 4)

    def spot(x: float, y: float, z: float, within: float = 0.08) -> list[float]:
        return [near(x, within), near(y, within), near(z, within / 5)]

    deck = {"center": [0, 0, -1.12], "size": [8, 8, 2]}
    deck |= {"x_axis": [1, 0, 0.021], "y_axis": [0.0004, 1, -0.019]}
    up, ahead = [0, 0, 1], [-1, 0, 0]
    return {
        "schema_version": 1,
        "length_unit": "m",
        "name": "yard",
        "revision": "A",
        "solids": [
            {"id": "deck", "volume": {"shape": "box"} | deck},
            {"id": "wall", "volume": {"shape": "box", "center": [0.7, 0, 1.25],
                                      "size": [0.4, 3, 2.6]}},
            {"id": "post", "volume": {"shape": "cylinder", "start": spot(-0.9, 0.75, -0.05),
                                      "end": spot(-0.9, 0.75, 0.9), "radius": 0.07}},
            {"id": "crate", "volume": {"shape": "box", "center": spot(0.2, -0.8, 0.2),
                                       "size": [0.35, 0.25, 0.4], "x_axis": [0.9, 0.3, 0],
                                       "y_axis": [-0.3, 0.9, 0]}},
            {"id": "ball", "volume": {"shape": "sphere", "center": spot(0.1, 0.5, 1.5),
                                      "radius": 0.1}},
        ],
        "handrails": [
            {"id": "H1", "points": [spot(-1.8, -1.2, 0.06), spot(0.3, -1.3, 0.06)], "normal": up},
            {"id": "H2", "points": [spot(-1.8, 1.2, 0.06), spot(0.3, 1.2, 0.06)], "normal": up},
            {"id": "H3", "points": [spot(-1.3, -1, 0.06), spot(-1.2, 1, 0.06)], "normal": up},
            {"id": "H4", "points": [spot(-0.75, -0.5, 0.06), spot(-0.7, 0.2, 0.06)], "normal": up},
        ],
        "sockets": [{"id": "S1", "position": [near(0), near(0), 0], "normal": up,
                     "clock_zero": [1, 0, 0]}],
        "tether_points": [{"id": "TP1", "position": spot(-1.9, -1, 0), "rating_n": 3200.0}],
        "hatches": [{"id": "hatch", "position": spot(-2, -1.1, 0.06), "normal": up,
                     "tether_point": "TP1"}],
        "worksites": [
            {"id": "W1", "socket": "S1",
             "targets": [{"id": "T1", "position": [0.5, near(0.1, 0.3), near(1.85, 0.2)],
                          "facing": ahead},
                         {"id": "T2", "position": [0.5, near(-0.05, 0.2), near(1.75, 0.1)],
                          "facing": [-1, 0.1, 0], "hands": 1 + draw % 2}],
             "attach": [{"id": "a1", "held": spot(-0.3, -0.3, 0.8, 0.15),
                         "seated": spot(-0.1, -0.2, 0.5, 0.15)}],
             "tie_handrails": ["H1", "H3", "H4"]},
            {"id": "W2", "handrail": "H4", "place": spot(-0.73, -0.1, 0.06, 0.02),
             "targets": [{"id": "T3", "position": spot(-0.4, -0.1, 0.06), "facing": up}]},
        ],
        "zones": [{"id": "Z1", "applies_to": ["tether", "item"],
                   "volume": {"shape": "cone", "start": spot(-0.5, -0.1, 0.5, 0.2),
                              "end": spot(-0.6, 0.2, 0.9, 0.2), "start_radius": 0.05,
                              "end_radius": 0.2}}],
        "items": [{"id": "bag", "size": [0.2, 0.15, 0.1], "mass_kg": 5.0, "stowed_at": "H1"}],
        "equipment_tethers": [
            {"id": "long", "cinched": 0.45, "extended": 1.1, "rating_n": 1000.0, "count": 1},
            {"id": "short", "cinched": 0.2, "extended": 0.62, "rating_n": 600.0, "count": 1},
        ],
        "restraints": [
            {"id": "coarse", "clock_positions": 6, "plate_offset": [0, 0, 0.1],
             "joints": [{"id": "pitch", "axis": [0, 1, 0], "lowest_deg": -60.0,
                         "highest_deg": 60.0, "step_deg": 30.0, "offset": [0, 0, 0.2]},
                        {"id": "yaw", "axis": up, "lowest_deg": -30.0, "highest_deg": 30.0,
                         "step_deg": 30.0, "offset": [0, 0, 0.2]}],
             "boots_length": 0.36, "boots_width": 0.3, "boots_height": 0.05, "rating_n": 1300.0,
             "rating_nm": 500.0}
        ],
        "faces": [{"id": "F1", "center": [0.5, near(0.2, 0.3), near(1.2, 0.3)], "normal": ahead,
                   "across": [0, 1, 0], "size": [0.63, 0.41]}],
        "cameras": [{"id": "cam", "nearest": 0.3, "farthest": 2.5, "incidence_deg": 60.0,
                     "held_out": 0.1}],
        "connectors": [
            {"id": "C1", "position": spot(-1.7, -0.6, 0.05), "normal": [1, 0.2, 0.1]},
            {"id": "C2", "position": spot(0, 0.9, 0.05), "normal": [-1, -0.2, 0.2]},
        ],
        "cable_ties": [
            {"id": f"T{k}0", "position": spot(-1.2 + 0.4 * (k % 3), -0.5 + 0.8 * (k // 3), 0.05),
             "stow": 0.1 * k} for k in range(6)
        ],
        "cables": [{"id": "K", "length": near(3.6, 0.6), "bend_radius": 0.08, "service_loop": 0.1,
                    "spacing": 1.1}],
    }  # fmt: skip


def each(value: Any, change: Callable[[str, Any], Any], key: str = "") -> Any:
    """Change what is under keys; `change` returns None to go on below."""
    changed = change(key, value)
    if changed is not None:
        return changed
    if isinstance(value, dict):
        return {name: each(one, change, name) for name, one in value.items()}
    return [each(one, change) for one in value] if isinstance(value, list) else value


def in_unit(document: Document, unit: str) -> Document:
    def change(key: str, value: Any) -> Any:
        if key not in LENGTHS | POINTS or isinstance(value, str):
            return None
        return (np.array(value) / METRES_PER_UNIT[unit]).tolist()

    return each(document, change) | {"length_unit": unit}


def in_another_order(document: Document) -> Document:
    random = np.random.default_rng(7)
    names = list(document)
    random.shuffle(names)
    lists = {
        name: [one[i] for i in random.permutation(len(one))]
        for name, one in document.items()
        if isinstance(one, list)
    }
    return {name: lists.get(name, document[name]) for name in names}


def mirrored(document: Document) -> Document:
    def change(key: str, value: Any) -> Any:
        if key not in POINTS | DIRECTIONS:
            return None
        return (np.array(value) * [1, -1, 1]).tolist()

    return each(document, change)


def answers(structure: Structure) -> Document:
    situation = Situation(limits=LIMITS)
    graph = build_graph(structure, situation)
    reached = reached_elements(graph)
    worksite = structure.find("W1", (Worksite,))
    found = {
        "restraint": restraint_reach(structure, worksite, situation, body="middle"),
        "tie": tie_details(structure, "W1", situation, reached=reached),
        "bags": find_bag_places(graph, "W2", structure.find("bag", (Item,)), reached=reached),
        "sight": sight_of(graph, structure.find("F1", (Face,)), start="hatch"),
        "cable": find_cable_runs(structure, "K", ("C1", "C2"), situation),
    }
    return {name: one.to_row() for name, one in found.items()}


def read(document: Document, folder: Path) -> Structure:
    path = folder / "yard.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    return read_structure(path)


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int], Document]:
    folder = tmp_path_factory.mktemp("yards")
    return cache(lambda draw: answers(read(yard(draw), folder)))


def differences(one: Any, other: Any, path: str = "") -> Iterator[str]:
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        for name in one:
            yield from differences(one[name], other[name], f"{path}.{name}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for i, pair in enumerate(zip(one, other, strict=True)):
            yield from differences(*pair, f"{path}[{i}]")
    elif isinstance(one, float) and isinstance(other, float):
        if abs(one - other) > SAME:
            yield f"{path}: {one} and {other}"
    elif one != other:
        yield f"{path}: {one} and {other}"


def seen_from_the_other_side(found: Document) -> Document:
    """Mirror an answer; settings and samples of a face are numbered another way there."""
    sides = {"port": "starboard", "starboard": "port"}

    def change(key: str, value: Any) -> Any:
        if key in {"settings", "clock", "joints_deg", "setting", "samples_m", "unseen"}:
            return []
        if isinstance(value, str):
            return re.sub("starboard|port", lambda side: sides[side[0]], value)
        if isinstance(value, list) and len(value) == 3 and isinstance(value[0], float):
            return (np.array(value) * [1, -1, 1]).tolist()
        return None

    return each(found, change)


@pytest.mark.parametrize("draw", YARDS)
@pytest.mark.parametrize("unit", ["in", "ft"])
def test_another_unit_gives_the_same_answers(
    draw: int, unit: str, known: Callable[[int], Document], tmp_path: Path
) -> None:
    found = answers(read(in_unit(yard(draw), unit), tmp_path))
    assert not list(differences(known(draw), found))


@pytest.mark.parametrize("draw", YARDS)
def test_another_order_gives_the_same_answers_to_the_last_bit(
    draw: int, known: Callable[[int], Document], tmp_path: Path
) -> None:
    assert answers(read(in_another_order(yard(draw)), tmp_path)) == known(draw)


@pytest.mark.parametrize("draw", YARDS)
def test_port_and_starboard_changed_give_mirrored_answers(
    draw: int, known: Callable[[int], Document], tmp_path: Path
) -> None:
    found = answers(read(mirrored(yard(draw)), tmp_path))
    here, there = known(draw), seen_from_the_other_side(found)
    # Mirrored twice is as before, but for the numbers of settings and samples.
    assert not list(differences(seen_from_the_other_side(here), seen_from_the_other_side(there)))


def test_the_yards_have_answers_to_compare(known: Callable[[int], Document]) -> None:
    """Else the properties above would say little."""
    some = [known(draw) for draw in YARDS]
    assert {"ok"} == {one["tie"]["verdict"] for one in some}
    assert {"ok", "no setting"} >= {one["restraint"]["verdict"] for one in some}
    assert "ok" in {one["restraint"]["verdict"] for one in some}
    assert all(one["bags"]["places"] for one in some)
    assert all(one["sight"]["grips"] for one in some)
    assert all(one["cable"]["best"] for one in some)
