"""The verdict on a plan: clean only without anything to watch, and the worst of it said."""

from dataclasses import replace

import pytest

from routing.outings.told.findings import sorted_outing_findings
from routing.outings.told.results import OutingAnswer, OutingFinding
from routing.outings.told.spread_watch import with_spread
from routing.outings.told.verdict import verdict_line, verdict_of
from structures.findings import Severity
from tests.routing.show.pack_ground import small_material


def finding(severity: Severity, code: str = "any", value: float | None = None) -> OutingFinding:
    return OutingFinding(
        code=code, severity=severity, message=f"{code} {value}", remedy="mend it", value=value
    )


def judged(*findings: OutingFinding) -> OutingAnswer:
    ordered = sorted_outing_findings(findings)
    said = {"findings": ordered, "verdict": verdict_of(ordered)}
    return replace(small_material().planned.answer, **said)


def test_clean_is_only_what_has_nothing_to_watch() -> None:
    answer = judged(finding("notes"))
    assert (answer.verdict, answer.clean) == ("planned and clean", True)
    assert verdict_line(answer) == "Planned and clean within the limits given."


def test_what_warns_is_counted_and_the_worst_said() -> None:
    answer = judged(
        finding("warns"),
        finding("notes"),
        finding("warns", "home-too-late-in-tow", 45.2),
        finding("warns", "no-way-home-in-tow", 2.0),
        replace(finding("warns", "no-way-home-in-tow", 90.0), person="EV1"),
    )
    assert (answer.verdict, answer.clean) == ("planned, with things to watch", True)
    assert verdict_line(answer) == (
        "Planned within the limits given; 4 things to WATCH: no way home with the partner in tow "
        "for 90 min (EV1), 2 min; home too late with the partner in tow, after up to 46 min; also "
        "any."
    )
    assert [one.value for one in answer.watched] == [90.0, 2.0, 45.2, None]


@pytest.mark.parametrize("also", [(), (finding("warns"),)])
def test_what_blocks_is_said_before_all(also: tuple[OutingFinding, ...]) -> None:
    answer = judged(*also, finding("blocks"))
    assert (answer.verdict, answer.clean) == ("not clean", False)
    assert verdict_line(answer) == "NOT CLEAN: 1 finding must be mended first."


def test_a_p90_beyond_a_limit_stands_in_the_verdict() -> None:
    answer = judged()
    spread = small_material().spread
    assert spread is not None
    inside = with_spread(answer, spread)
    assert (inside.verdict, inside.spread) == ("planned and clean", spread)
    planned_s = answer.totals.planned_s
    late = replace(spread, p90_s=planned_s + 90.0, over_planned=0.25)
    told = with_spread(answer, late)
    assert told.verdict == "planned, with things to watch"
    assert verdict_line(told) == (
        "Planned within the limits given; 1 thing to WATCH: P90 beyond the planned length by 2 min."
    )
    (watch,) = told.watched
    assert "0:02 more than the planned length of 6:30: 25% of" in watch.message
    later = replace(late, p90_s=answer.totals.consumables_s + 1.0)
    outlived = with_spread(answer, later)
    assert outlived.verdict == "not clean"
    assert [(one.code, one.severity) for one in outlived.findings] == [
        ("p90-over-consumables", "blocks"),
        ("p90-over-planned-length", "warns"),
    ]
    # What the plan is over anyway blocks, and is not said twice.
    over = replace(answer.totals, total_s=planned_s + 60.0)
    assert not with_spread(replace(answer, totals=over), late).watched
    assert with_spread(answer, None) is answer
