"""A structure read wholly in the wrong unit: what hands reach does not grow with it."""

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.reach_findings import inspect_reach
from routing.graph.scattered import check_scattered_rails
from routing.graph.situation import Situation
from structures.elements import Handrail
from structures.findings import Finding
from structures.model import Structure

UP = (0.0, 0.0, -1.0)
FOOT_M = 0.3048
GAP_FT = 1.5
"""Within the reach of 2 ft; read as metres it is not."""


def row(many: int, unit_m: float, *, gap: float = GAP_FT) -> Structure:
    """Rails of 4 ft in a row."""
    starts = np.arange(many) * (4.0 + gap)
    rails = tuple(
        Handrail(
            id=f"H{i}",
            points_m=((start * unit_m, 0.0, 0.0), ((start + 4.0) * unit_m, 0.0, 0.0)),
            normal=UP,
        )
        for i, start in enumerate(starts.tolist())
    )
    return Structure(name="row", revision="A", handrails=rails)


def found(structure: Structure) -> list[Finding]:
    return list(check_scattered_rails(build_graph(structure, Situation())))


def test_feet_read_as_feet_are_no_doubt() -> None:
    assert found(row(6, FOOT_M)) == []


def test_feet_read_as_metres_are_one_doubt_about_the_unit() -> None:
    structure = row(6, 1.0)
    (one,) = found(structure)
    assert (one.code, one.severity) == ("gaps-doubtful", "warns")
    assert one.value == pytest.approx(GAP_FT)
    assert "6 of 6 handrails are far out of reach of everything else" in one.message
    assert "check length_unit" in one.message
    inspected = inspect_reach(build_graph(structure, Situation()))
    assert one in inspected


@pytest.mark.parametrize(("many", "doubts"), [(3, 0), (4, 1)])
def test_few_rails_are_no_doubt_about_all(many: int, doubts: int) -> None:
    assert len(found(row(many, 1.0))) == doubts


def test_gaps_just_over_reach_are_near_misses_and_no_doubt_about_the_unit() -> None:
    assert found(row(6, FOOT_M, gap=2.9)) == []
    assert len(found(row(6, FOOT_M, gap=3.1))) == 1
