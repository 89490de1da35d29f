"""What of a worksite was not checked is counted apart, with the true reason and what to do."""

from typing import Any

import pytest

from routing.cli.reach_text import reach_verdict
from routing.worksites.not_checked import not_checked
from routing.worksites.reach_table import ReachRow


def row(worksite: str, **more: Any) -> ReachRow:
    checked: dict[str, Any] = {
        "way": "safe",
        "tie": "nothing to tie",
        "restraint": "ok",
        "home": "in time",
    }
    return ReachRow(**{"worksite": worksite, **checked, **more})


def test_all_checked_is_safe_without_more() -> None:
    assert list(not_checked([row("W1")])) == []
    assert reach_verdict([row("W1")]) == "Answered and safe within the limits given: 1 worksite."


def test_what_was_not_asked_is_never_counted_as_safe() -> None:
    said = reach_verdict([row("W1"), row("W2", restraint="not asked")])
    assert said.startswith("Safe: 1 of 2 worksites. Nothing unsafe in what was checked: 1 of 2")
    assert "NOT CHECKED: foot restraint of 1 (W2): on a handrail, so no socket is named" in said
    assert "gripway restraint STRUCTURE WORKSITE" in said
    assert "without_restraint = true" in said
    assert "--only" not in said
    one = row("W2", restraint="not asked")
    assert not one.safe
    assert not one.failed


def test_done_without_a_restraint_is_said_by_the_worksite_and_nothing_is_open() -> None:
    one = row("W2", restraint="none planned")
    assert one.safe
    assert reach_verdict([one]) == "Answered and safe within the limits given: 1 worksite."


def test_what_option_only_left_out_says_so() -> None:
    (said,) = not_checked([row("W1", restraint="not checked", home="not checked")])
    assert said == (
        "foot restraint of 1, time home of 1. These may be safe or not; leave out --only to ask."
    )


def test_without_a_way_the_time_home_has_another_reason() -> None:
    (said,) = not_checked([row("W2"), row("W1", way="no route", home="not checked")])
    assert said.startswith("time home of 1 (W1): there is no way from the hatch")
    assert "--only" not in said


@pytest.mark.parametrize(
    ("lines", "drifts", "told"),
    [(1, "held", "ok, one line"), (3, "held and seated", "ok, DRIFTS"), (3, None, "ok")],
)
def test_a_payload_that_may_drift_is_told_with_the_tie(
    lines: int, drifts: str | None, told: str
) -> None:
    one = row("W1", tie="ok", lines=lines, drifts=drifts)
    assert one.tie_told == told
    assert (one.drift_remark is None) == (drifts is None)
