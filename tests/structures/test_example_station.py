"""The station example as data: big enough, tidy, and doubtful only where it says so."""

import csv
from math import dist
from pathlib import Path

import pytest

from routing.limits import DEFAULT_LIMITS
from structures.elements import Handrail, Transmitter
from structures.files import read_structure
from structures.inspection import inspect_structure
from structures.model import ELEMENT_LISTS, Structure
from structures.units import INCH_M

FOLDER = Path(__file__).parents[2] / "examples" / "station"

# Asked for in the requirements of the example.
AT_LEAST = {
    "solids": 14,
    "handrails": 400,
    "sockets": 50,
    "tether_points": 40,
    "worksites": 30,
    "zones": 15,
    "hatches": 1,
    "conditions": 5,
    "items": 8,
    "people": 3,
}

# Doubts that are in the data on purpose, so that inspect has something to find.
PLANTED = {
    "handrail-floating": {"H1117"},
    "normal-inward": {"H1118"},
    "tether-point-rating-low": {"TP33", "TP35"},
}


@pytest.fixture(scope="module")
def station() -> Structure:
    return read_structure(FOLDER / "station.toml")


@pytest.mark.parametrize(("kind", "least"), AT_LEAST.items())
def test_it_is_of_real_size(station: Structure, kind: str, least: int) -> None:
    assert len(getattr(station, kind)) >= least


def test_every_kind_of_shape_is_there(station: Structure) -> None:
    assert {solid.volume.shape for solid in station.solids} == {
        *["cylinder", "cone", "sphere", "box", "prism"]
    }
    assert any(isinstance(zone.volume, Transmitter) for zone in station.zones)
    assert {zone.kind for zone in station.zones} == {"keep-out", "slow-down"}
    assert {("tether",), ("item",)} <= {zone.applies_to for zone in station.zones}


def test_handrails_are_as_long_as_real_ones(station: Structure) -> None:
    lengths_m = [
        sum(dist(a, b) for a, b in zip(rail.points_m, rail.points_m[1:], strict=False))
        for rail in station.handrails
    ]
    assert min(lengths_m) > 0.29
    assert max(lengths_m) < 2.56


def test_lists_are_in_the_order_of_their_ids_and_rounded() -> None:
    for name in ("handrails", "sockets", "tether_points"):
        with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        ids = [row["id"] for row in rows]
        assert ids == sorted(ids)
        decimals = 2 if name == "handrails" else 3
        for row in rows:
            for key, cell in row.items():
                if key.startswith(("start_", "end_", "position_")):
                    assert len(cell.partition(".")[2]) <= decimals, (row["id"], key, cell)


def test_handrails_are_listed_in_inches(station: Structure) -> None:
    # H1001: x from -271.65 in to -251.97 in, standoff 2.5 in, at clock 000 of the core module.
    first = station.by_id["H1001"]
    assert isinstance(first, Handrail)
    assert first.points_m[0] == pytest.approx([-271.65 * INCH_M, 0.0, -85.18 * INCH_M])
    assert first.normal == (0.0, 0.0, -1.0)


def test_everything_has_a_name(station: Structure) -> None:
    unnamed = [element.id for _, element in station.elements() if not element.name]
    assert unnamed == []
    assert set(ELEMENT_LISTS) - {"handholds"} == {kind for kind, _ in station.elements()}


def test_inspect_finds_the_planted_doubts_and_no_others(station: Structure) -> None:
    findings = inspect_structure(
        station,
        glove_grip_m=DEFAULT_LIMITS.glove_grip_m,
        tether_point_rating_n=DEFAULT_LIMITS.tether_point_rating_n,
        kick_distance_m=DEFAULT_LIMITS.kick_distance_m,
    )
    found: dict[str, set[str]] = {}
    for finding in findings:
        if finding.code != "kick-sensitive-near":
            found.setdefault(finding.code, set()).add(finding.elements[0])
    assert found == PLANTED
    near_valves = [f for f in findings if f.elements[0].startswith("valve-box")]
    assert {f.code for f in near_valves} == {"kick-sensitive-near"}
