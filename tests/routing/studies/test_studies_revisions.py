"""Which of two answers is worth more, and in what order changes are told."""

from dataclasses import replace
from itertools import pairwise

import pytest

from routing.studies.revisions import (
    CHANGES,
    AnswerChange,
    AnswerState,
    compare_answers,
    is_bad,
)

SAFE = AnswerState(
    verdict="answered and safe",
    start="hatch",
    seconds=100.0,
    transfers=2,
    exposure_s=0.0,
    clearance_m=0.3,
    line_left_m=5.0,
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
    assert is_bad([found] if found else []) == (change in {"lost", "turned unsafe"})


@pytest.mark.parametrize(
    ("field", "worse"),
    [
        ("seconds", 100.5),
        ("transfers", 3),
        ("exposure_s", 4.0),
        ("clearance_m", 0.2),
        ("line_left_m", 4.0),
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
