"""Which of two answers is worth more, and in what order changes are told."""

from dataclasses import replace
from itertools import pairwise

import pytest

from routing.studies.revision_changes import (
    CHANGES,
    AnswerChange,
    compare_answers,
    is_bad,
    still_not_safe,
)
from routing.studies.revisions import AnswerState

SAFE = AnswerState(
    verdict="answered and safe",
    start="hatch",
    seconds=100.0,
    transfers=2,
    exposure_s=0.0,
    clearance_m=0.3,
    line_left_m=5.0,
    home_s=120.0,
    way=("H1", "H2"),
)
UNSAFE = replace(SAFE, verdict="unsafe", reason="TP2 has no rating")
NONE = AnswerState(verdict="no route", reason="out of reach", start="hatch")
OK = AnswerState(verdict="ok", tethers=1, tether_margin_m=0.2, way=("H1",))
NO_CHAIN = AnswerState(verdict="no chain", reason="too far")
UNKNOWN = AnswerState(verdict="unknown", reason="inside a solid")


def judged(old: AnswerState | None, new: AnswerState | None) -> AnswerChange | None:
    key = ("W1", "route on reels")
    found = compare_answers(
        {} if old is None else {key: old},
        {} if new is None else {key: new},
    )
    assert len(found) <= 1
    return found[0] if found else None


def changed(old: AnswerState | None, new: AnswerState | None) -> str | None:
    found = judged(old, new)
    return None if found is None else found.change


@pytest.mark.parametrize(
    ("old", "new", "change"),
    [
        (SAFE, SAFE, None),
        (SAFE, UNSAFE, "turned unsafe"),
        (SAFE, NONE, "lost"),
        (UNSAFE, NONE, "lost"),
        (SAFE, None, "lost"),
        (UNSAFE, SAFE, "gained"),
        (NONE, SAFE, "gained"),
        (NONE, UNSAFE, "better"),
        (None, SAFE, "new"),
        (None, UNSAFE, "new and not safe"),
        (None, NONE, "new and not safe"),
        (OK, NO_CHAIN, "lost"),
        (OK, UNKNOWN, "turned unsafe"),
        (NO_CHAIN, OK, "gained"),
        (OK, AnswerState(verdict="nothing to tie"), "other way"),
    ],
)
def test_verdicts_decide_first(
    old: AnswerState | None, new: AnswerState | None, change: str | None
) -> None:
    assert changed(old, new) == change
    found = judged(old, new)
    assert is_bad([found] if found else []) == (
        change in {"lost", "turned unsafe", "new and not safe"}
    )


@pytest.mark.parametrize(
    ("field", "worse"),
    [
        ("seconds", 100.5),
        ("transfers", 3),
        ("exposure_s", 4.0),
        ("clearance_m", 0.2),
        ("line_left_m", 4.0),
        ("home_s", 130.0),
    ],
)
def test_each_measure_has_a_better_and_a_worse_side(field: str, worse: float) -> None:
    other = replace(SAFE, **{field: worse})
    assert changed(SAFE, other) == "worse"
    assert changed(other, SAFE) == "better"
    mixed = replace(other, turn_left_deg=5.0)
    assert changed(mixed, replace(SAFE, turn_left_deg=1.0)) == "worse"


def test_rounding_is_no_change_and_clearance_is_certain_to_a_millimetre() -> None:
    assert changed(SAFE, replace(SAFE, seconds=100.0 + 1e-8)) is None
    assert changed(SAFE, replace(SAFE, clearance_m=0.2995)) is None
    assert changed(SAFE, replace(SAFE, clearance_m=0.2985)) == "worse"


@pytest.mark.parametrize("field", ["clearance_m", "line_left_m", "reach_left_m", "turn_left_deg"])
def test_a_margin_where_nothing_was_near_is_worse(field: str) -> None:
    """The first solid beside a way takes room that nothing bounded before."""
    free, bounded = replace(SAFE, **{field: None}), replace(SAFE, **{field: 0.01})
    found = judged(free, bounded)
    assert found is not None
    assert found.change == "worse"
    assert "not bounded -> 0.010" in found.says
    assert changed(bounded, free) == "better"
    assert changed(free, free) is None


@pytest.mark.parametrize("state", [UNSAFE, NONE, NO_CHAIN, UNKNOWN])
def test_another_reason_for_the_same_verdict_is_a_change(state: AnswerState) -> None:
    """What was to be mended is no longer what is to be mended."""
    found = judged(state, replace(state, reason="the body corridor is not clear"))
    assert found is not None
    assert found.change == "other reason"
    assert str(state.reason) in found.says
    assert "now" in found.says
    assert "the body corridor is not clear" in found.says
    assert not is_bad([found])
    assert changed(UNSAFE, replace(UNSAFE, reason="other", seconds=120.0)) == "worse"


def test_another_way_is_told_with_what_is_worse_on_it() -> None:
    found = judged(SAFE, replace(SAFE, line_left_m=2.0, way=("H1", "H9"), start="aft"))
    assert found is not None
    assert found.change == "worse"
    assert found.says == "line left 5.000 -> 2.000 m (-3.000); from aft; by H9"


def test_what_is_not_safe_in_either_revision_is_told() -> None:
    key, other, gone = (
        ("W1", "route on reels"),
        ("W2", "route on reels"),
        ("W3", "route on reels"),
    )
    old = {key: UNSAFE, other: SAFE, gone: NONE}
    new = {key: replace(UNSAFE, reason="still not rated", seconds=110.0), other: UNSAFE}
    (found,) = still_not_safe(old, new)
    assert (found.worksite, found.verdict, found.reason) == ("W1", "unsafe", "still not rated")
    assert still_not_safe({key: UNSAFE}, {key: SAFE}) == ()


def test_another_way_at_the_same_price_is_told_by_what_is_new_on_it() -> None:
    found = judged(SAFE, replace(SAFE, way=("H1", "H9")))
    assert found is not None
    assert (found.change, found.says) == ("other way", "by H9")


def test_the_worst_comes_first() -> None:
    old, new = {}, {}
    states = [
        (SAFE, replace(SAFE, seconds=130.0)),
        (NONE, SAFE),
        (SAFE, replace(SAFE, seconds=190.0)),
        (None, SAFE),
        (SAFE, UNSAFE),
        (None, NONE),
        (SAFE, replace(SAFE, way=("H3",))),
        (SAFE, NONE),
        (SAFE, replace(SAFE, seconds=90.0)),
    ]
    for number, (before, after) in enumerate(states):
        key = (f"W{number}", "route on reels")
        if before is not None:
            old[key] = before
        if after is not None:
            new[key] = after
    found = compare_answers(old, new)
    assert [one.worksite for one in found] == ["W7", "W4", "W5", "W2", "W0", "W6", "W8", "W1", "W3"]
    ranks = [CHANGES.index(one.change) for one in found]
    assert all(a <= b for a, b in pairwise(ranks))
