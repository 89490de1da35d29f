"""Slack in the run sheet of an outing: rounded down, never more than there is."""

import pytest

from routing.cli.outing_text import _run_cells
from routing.outings.told.results import RunRow


@pytest.mark.parametrize(
    ("slack_s", "said"), [(102.6, "1"), (59.9, "0"), (60.0, "1"), (0.0, "0"), (119.999, "1")]
)
def test_slack_is_rounded_down(slack_s: float, said: str) -> None:
    row = RunRow(start_s=0.0, end_s=60.0, kind="act", who=("EV1",), text="work", slack_s=slack_s)
    assert _run_cells(row)[9] == said
