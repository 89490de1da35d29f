"""Reading a structure of the size of the station example, against what its parsers need alone."""

import csv
import statistics
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from structures.elements import Handrail, Socket, TetherPoint, Worksite
from structures.files import read_structure, write_structure, write_table
from structures.model import Structure

pytestmark = pytest.mark.benchmark

HEAD = (
    'schema_version = 1\nlength_unit = "in"\nname = "T"\nrevision = "A"\nhandrails = "rails.csv"\n'
)
COLUMNS = [
    *("id", "name", "start_x", "start_y", "start_z", "end_x", "end_y", "end_z"),
    *("normal_x", "normal_y", "normal_z", "standoff", "tether_hook"),
]


def write_station(folder: Path) -> Path:
    """Write 450 handrails as a table, 50 sockets, 40 tether points and 30 worksites."""
    rows = [
        [
            f"rail-{i}",
            f"Rail {i}",
            *(i + 0.125, 2.5, -84.0),
            *(i + 10.5, 2.5, -84.0),
            0,
            0,
            -1,
            2.5,
            i % 7 > 0,
        ]
        for i in range(450)
    ]
    write_table(folder / "rails.csv", COLUMNS, rows)
    rest = Structure(
        name="T",
        revision="A",
        sockets=[
            Socket(
                id=f"socket-{i}", position_m=(i, 0.5, 2), normal=(0, 0, -1), clock_zero=(1, 0, 0)
            )
            for i in range(50)
        ],
        tether_points=[
            TetherPoint(id=f"tp-{i}", position_m=(i, 1.25, 2), rating_n=2600) for i in range(40)
        ],
        worksites=[Worksite(id=f"work-{i}", socket=f"socket-{i}") for i in range(30)],
    )
    path = folder / "depot.toml"
    write_structure(rest, path)
    body = path.read_text().partition("\n\n")[2]
    path.write_text(f"{HEAD}\n{body}")
    return path


def median_s(work: Callable[[], object], times: int = 15) -> float:
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken)


def test_warm_reading_of_a_station(tmp_path: Path) -> None:
    path = write_station(tmp_path)

    def parsers_alone() -> None:
        tomllib.loads(path.read_text())
        with (tmp_path / "rails.csv").open(newline="") as stream:
            list(csv.reader(stream))

    structure = read_structure(path)
    assert len(structure.handrails) == 450
    assert isinstance(structure.handrails[0], Handrail)
    parsers = median_s(parsers_alone)
    ours = median_s(lambda: read_structure(path))
    write_structure(structure, tmp_path / "depot.json")
    as_json = median_s(lambda: read_structure(tmp_path / "depot.json"))
    print(f"\nreading: {ours / parsers:.1f} x tomllib and csv alone ({ours * 1e3:.1f} ms); ")
    print(f"as one JSON document: {as_json / parsers:.1f} x ({as_json * 1e3:.1f} ms)")
