"""The small example outing, checked by hand: 78.7832 s to W1 as in examples/small/by_hand.md."""

from pathlib import Path

import pytest

from routing.outings.plan import plan_outing
from routing.outings.plan_file.reader import read_outing
from routing.outings.told.results import OutingAnswer, RunRow

EXAMPLE = Path(__file__).parents[3] / "examples" / "small" / "outing.toml"
BEGIN_S = 35 * 60.0
"""Five minutes after depress and thirty of egress."""


@pytest.fixture(name="answer", scope="module")
def small_answer() -> OutingAnswer:
    document = read_outing(EXAMPLE)
    return plan_outing(document.outing, document.structure, limits=document.limits)


def rows(answer: OutingAnswer, kind: str, act: str) -> list[RunRow]:
    return [row for row in answer.run_sheet if row.kind == kind and row.act == act]


def test_it_is_clean(answer: OutingAnswer) -> None:
    assert answer.clean
    tight, near, *notes = answer.findings
    assert [one.code for one in notes] == [
        *["limits-not-confirmed"] * 2,
        "rescue-not-looked-at",
    ]
    assert (tight.code, tight.act, tight.severity) == ("corridor-tight", "latch", "warns")
    assert {one.severity for one in notes} == {"notes"}
    # Both leave the hatch at once, along the same handrail.
    assert (near.code, near.severity, near.elements) == ("people-too-near", "warns", ("H01",))
    # EV1 has the rate of the structure's person, EV2 that of the limits.
    assert [", rate, " in one.message for one in notes[:2]] == [False, True]


def test_the_way_to_the_latch_takes_what_was_worked_out_by_hand(answer: OutingAnswer) -> None:
    (way,) = rows(answer, "way", "latch")
    assert way.end_s - way.start_s == pytest.approx(78.7832, abs=5e-5)
    assert way.start_s == BEGIN_S
    assert way.line_left_m == pytest.approx(16.8402, abs=5e-5)
    (act,) = rows(answer, "act", "latch")
    assert (act.start_s, act.end_s) == (way.end_s, way.end_s + 600)


def test_the_work_waits_for_the_ground(answer: OutingAnswer) -> None:
    (ground,) = rows(answer, "act", "heater-off")
    (bag,) = rows(answer, "act", "bag-out")
    (way,) = rows(answer, "way", "valve")
    (wait,) = rows(answer, "wait", "valve")
    (valve,) = rows(answer, "act", "valve")
    assert ground.start_s == bag.end_s
    assert ground.end_s == valve.start_s == bag.end_s + 120
    assert (wait.start_s, wait.end_s) == (way.end_s, valve.start_s)
    assert wait.text == "wait for heater-off"
    assert ground.critical
    assert not way.critical
    assert way.slack_s == pytest.approx(wait.end_s - wait.start_s)


def test_the_bag_slows_the_way_and_comes_back(answer: OutingAnswer) -> None:
    (way,) = [one for one in answer.translations if one.act == "valve"]
    assert way.carry == "bag"
    moves = [(one.item, one.act, one.place, one.how) for one in answer.ledger if one.act]
    assert moves == [("bag", "bag-out", "EV1", "hung"), ("bag", "bag-back", "H01", "stowed")]


def test_everybody_ends_on_the_tether_of_the_hatch(answer: OutingAnswer) -> None:
    for person in ("EV1", "EV2"):
        last = [one for one in answer.tethers if one.person == person][-1]
        assert [stay.tether_point for stay in last.stack] == ["TP1"]
        assert last.carried_m == pytest.approx((25.908,))


def test_the_blocks_make_up_the_total(answer: OutingAnswer) -> None:
    totals = answer.totals
    assert totals.total_s == pytest.approx((5 + 30 + 45 + 5) * 60 + totals.acts_s)
    assert totals.planned_left_s == pytest.approx(390 * 60 - totals.total_s)
    assert totals.consumables_left_s == pytest.approx(420 * 60 - totals.total_s)
    assert [block.source[:4] for block in answer.blocks] == ["post", "egre", "clea", "pre-"]
