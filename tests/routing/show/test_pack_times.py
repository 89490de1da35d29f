"""Time and lines in the review pack: turning home, spread, crossings, margins that are none."""

from dataclasses import replace
from math import ceil
from typing import Any

import pytest

from routing.outings.clock.spread import spread_of
from routing.outings.lines.records import LaidFor, LinesMeet
from routing.outings.told.times_said import clock, duration
from routing.show.charts.timeline_inputs import timeline_of
from routing.show.pack.lines import lines_in_short, lines_section
from routing.show.pack.material import SPREAD_SAMPLES, SPREAD_SEED, PackMaterial
from routing.show.pack.parts import margin, no_margin
from routing.show.pack.summary import summary_section
from routing.show.pack.times import times_section
from tests.routing.show.pack_ground import EXAMPLES, Element, material_of, parsed, small_material


def shown(section: Any) -> Element:
    return parsed(str(section.body))


def rows_of(body: Element, caption: str) -> list[list[str]]:
    (table,) = [one for one in body.all("table") if one.all("caption")[0].text.startswith(caption)]
    (inner,) = table.all("tbody")
    return [
        [cell.text for cell in row.children if isinstance(cell, Element)] for row in inner.all("tr")
    ]


def with_answer(material: PackMaterial, **changes: object) -> PackMaterial:
    answer = replace(material.planned.answer, **changes)
    return replace(material, planned=replace(material.planned, answer=answer))


def test_the_latest_moment_to_turn_home_is_said_for_each_person() -> None:
    material = small_material()
    answer = material.planned.answer
    rows = rows_of(shown(times_section(material)), "Earliest such moment")
    summary = shown(summary_section(material)).text
    for person in ("EV1", "EV2"):
        turns = [one for one in answer.turn_home if one.person == person]
        earliest = min(turns, key=lambda one: one.turn_by_s or 0.0)
        assert earliest.turn_by_s is not None
        assert earliest.home_s is not None
        mine = {row[1]: row for row in rows if row[0] == person}
        assert mine[earliest.act or ""][4:6] == [
            clock(earliest.turn_by_s),
            f"0:{ceil(earliest.home_s / 60):02d}",
        ]
        assert f"{person} {clock(earliest.turn_by_s)}" in summary


def test_no_way_home_or_too_late_is_never_a_moment_to_turn_home_by() -> None:
    material = small_material()
    turns = material.planned.answer.turn_home
    lost = replace(turns[2], turn_by_s=None, home_s=None)
    body = shown(times_section(with_answer(material, turn_home=(*turns[:2], lost, *turns[3:]))))
    (row,) = [row for row in rows_of(body, "Earliest") if row[1] == lost.act]
    assert row[4:] == ["NOT KNOWN", "NO WAY home is known", ""]
    late = replace(turns[2], turn_by_s=turns[3].from_s - 1.0)
    changed = with_answer(material, turn_home=(*turns[:2], late, *turns[3:]))
    rows = rows_of(shown(times_section(changed)), "Earliest")
    (row,) = [row for row in rows if row[1] == late.act]
    assert row[6] == "TOO LATE"
    none = with_answer(material, turn_home=(*turns[:2], lost, *turns[3:]))
    assert "EV1 NOT KNOWN" in shown(summary_section(none)).text


def test_after_a_way_that_was_not_found_times_home_are_not_known() -> None:
    material = small_material()
    answer = material.planned.answer
    home = (replace(answer.home[0], complete=False, known_until_s=2400.0), *answer.home[1:])
    turns = tuple(one for one in answer.turn_home if one.person != home[0].person)
    lost = with_answer(material, home=home, turn_home=turns)
    summary = shown(summary_section(lost))
    assert f"{home[0].person} NOT KNOWN" in summary.text
    (row,) = [row for row in rows_of(summary, "Longest time home") if row[1] == "in any way"]
    assert row[2] == "NOT KNOWN"
    assert row[4] == "from 0:40 on"
    rows = rows_of(shown(times_section(lost)), "Earliest")
    (row,) = [row for row in rows if row[0] == home[0].person]
    assert row[4] == "NOT KNOWN"
    chart = timeline_of(material.planned.outing, replace(lost.planned.answer, verdict="not clean"))
    assert f"time home NOT KNOWN: {home[0].person} from 0:40 on" in chart.warning


def test_the_spread_is_that_of_the_command_and_stands_against_the_limits() -> None:
    material = small_material()
    spread = spread_of(material.planned.schedule, SPREAD_SAMPLES, SPREAD_SEED)
    assert spread is not None
    body = shown(times_section(material))
    planned, suits = rows_of(body, "P50 and P90")
    assert planned[2:4] == suits[2:4] == [duration(spread.p50_s), duration(spread.p90_s)]
    assert planned[5].endswith(" left")
    drivers = rows_of(body, "What drives the spread")
    assert [row[0] for row in drivers] == ["valve", "bag-out"]
    assert "1 act with less than 1% not listed" in body.text
    assert f"P90 {duration(spread.p90_s)}" in shown(summary_section(material)).text


def test_a_p90_beyond_a_limit_is_said_in_strong_words() -> None:
    material = small_material()
    sums = replace(material.planned.answer.totals, planned_s=6500.0)
    changed = with_answer(material, totals=sums)
    body = shown(times_section(changed))
    (row,) = [one for one in body.all("tr") if "bad" in one.classes]
    assert "OVER by 0:05" in row.text
    strong = [one.text for one in shown(summary_section(changed)).all("strong")]
    assert "OVER by 0:05" in strong


def test_without_low_and_high_minutes_nothing_is_said_to_be_certain() -> None:
    material = small_material()
    spread = material.spread
    assert spread is not None
    bare = replace(material)
    bare.__dict__["spread"] = replace(spread, drivers=())
    for section in (times_section(bare), summary_section(bare)):
        assert "NOT KNOWN: no act of the plan says low and high minutes" in shown(section).text
    lost = material_of(EXAMPLES / "small" / "outing.toml", checked=False, closed=("H01",))
    assert lost.spread is None
    assert "NOT KNOWN: a way was not found" in shown(times_section(lost)).text
    assert "not known, because a way was not found" in shown(summary_section(lost)).text
    assert "KNOWN ONLY UNTIL" in str(lines_in_short(lost.planned.answer))


def crossing(ends: Any, over: str | None = "EV2") -> LinesMeet:
    first = LaidFor(
        person="EV1", at="H01@0.000", laid_for="valve", laid_s=2400.0,
        taken_up_for="ev1-home", taken_up_s=3600.0,
    )  # fmt: skip
    second = LaidFor(person="EV2", at="H02@0.500", laid_for="latch", laid_s=2700.0)
    return LinesMeet(
        start_s=2700.0, end_s=3600.0, ends=ends, over=over, lines=(first, second),
        position_m=(1.0, 2.0, 3.0), distance_m=0.04,
    )  # fmt: skip


def test_lines_that_cross_are_listed_the_worst_first_with_their_order() -> None:
    material = with_answer(
        small_material(), lines=(crossing("undoes itself"), crossing("tangles", None))
    )
    body = shown(lines_section(material))
    worst, other = rows_of(body, "Where lines cross")
    assert worst[2:4] == [
        "EV1 from H01@0.000 (not known)",
        "EV2 from H02@0.500 (not known)",
    ]
    assert worst[5].startswith("TANGLES")
    assert other[:4] == ["0:45", "1:00", "EV1 from H01@0.000", "EV2 from H02@0.500"]
    assert other[6] == (
        "EV1 lays: valve at 0:40; EV2 lays: latch at 0:45; EV1 takes up: ev1-home at 1:00; "
        "EV2 leaves it outside"
    )
    assert "TANGLES in 1 place, cross and undo themselves in 1 place" in body.text
    assert len([one for one in body.all("tr") if "bad" in one.classes]) == 1


def test_lines_that_never_cross_are_said_to() -> None:
    material = small_material()
    assert parsed(str(lines_in_short(material.planned.answer))).text == "never cross"
    assert "No lines cross." in shown(lines_section(material)).text


@pytest.mark.parametrize(
    ("left_m", "text", "none"),
    [
        (0.0012, "0.001", False),
        (0.0009, "0.000 at the limit", True),
        (0.0, "0.000 at the limit", True),
        (-0.0004, "-0.001 BEYOND the limit", True),
        (None, "", False),
    ],
)
def test_no_margin_never_looks_like_one(left_m: float | None, text: str, none: bool) -> None:
    assert parsed(margin(left_m)).text == text
    assert no_margin(left_m) is none
