"""The verdict on a plan: clean only without anything to watch, and the worst of it said."""

import pytest

from routing.outings.told.findings import sorted_outing_findings
from routing.outings.told.results import OutingAnswer, OutingFinding
from routing.outings.told.verdict import verdict_line, verdict_of
from structures.findings import Severity
from tests.routing.pack_ground import small_material


def finding(severity: Severity, code: str = "any", value: float | None = None) -> OutingFinding:
    return OutingFinding(
        code=code, severity=severity, message=f"{code} {value}", remedy="mend it", value=value
    )


def judged(*findings: OutingFinding) -> OutingAnswer:
    ordered = sorted_outing_findings(findings)
    said = {"findings": ordered, "verdict": verdict_of(ordered)}
    return small_material().planned.answer.model_copy(update=said)


def test_clean_is_only_what_has_nothing_to_watch() -> None:
    answer = judged(finding("notes"))
    assert (answer.verdict, answer.clean) == ("planned and clean", True)
    assert verdict_line(answer) == "Planned and clean within the limits given."


def test_what_warns_is_counted_and_the_worst_said() -> None:
    answer = judged(
        finding("warns"),
        finding("notes"),
        finding("warns", "home-too-late-in-tow", 45.0),
        finding("warns", "no-way-home-in-tow", 2.0),
        finding("warns", "no-way-home-in-tow", 90.0),
    )
    assert (answer.verdict, answer.clean) == ("planned, with things to watch", True)
    assert verdict_line(answer) == (
        "Planned within the limits given; 4 things to watch, worst: no-way-home-in-tow 90.0."
    )
    assert [one.value for one in answer.watched] == [90.0, 2.0, 45.0, None]


@pytest.mark.parametrize("also", [(), (finding("warns"),)])
def test_what_blocks_is_said_before_all(also: tuple[OutingFinding, ...]) -> None:
    answer = judged(*also, finding("blocks"))
    assert (answer.verdict, answer.clean) == ("not clean", False)
    assert verdict_line(answer) == "NOT CLEAN: 1 finding must be mended first."
