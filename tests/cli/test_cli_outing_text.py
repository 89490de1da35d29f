"""The text of an outing: slack rounded down, and which reel is hooked on first."""

from pathlib import Path

import pytest

from routing.cli.outing_text import _run_cells, _tethered
from routing.outings.told.results import RunRow
from tests.routing.outings.outing_plans import HEAD, act, planned


@pytest.mark.parametrize(
    ("slack_s", "said"), [(102.6, "1"), (59.9, "0"), (60.0, "1"), (0.0, "0"), (119.999, "1")]
)
def test_slack_is_rounded_down(slack_s: float, said: str) -> None:
    row = RunRow(start_s=0.0, end_s=60.0, kind="act", who=("EV1",), text="work", slack_s=slack_s)
    assert _run_cells(row)[9] == said


def test_reels_of_different_lengths_say_which_is_hooked_on_first(tmp_path: Path) -> None:
    mixed = HEAD.replace("[1020.0, 1020.0]", "[660.0, 1020.0]", 1)
    answer = planned(tmp_path, act("go", "EV1", "work", at="W1"), head=mixed).answer
    first, second = (_tethered(one, answer.tethers) for one in answer.people)
    held = next(one for one in answer.tethers if one.person == "EV1").stack[0].length_m
    assert first.endswith(f"(hooked on first: 1 reel of {held:.2f} m ({held / 0.3048:.1f} ft))")
    assert "hooked on first" not in second
