"""A way that a change would open: how long it takes, and what makes it unsafe all the same."""

from dataclasses import dataclass, replace

from routing.graph.reach_graph import ReachGraph
from routing.paths.answers.checks import check_course
from routing.paths.answers.margins import measure_margins
from routing.paths.answers.results import Protocol
from routing.paths.answers.tether_checks import Case
from routing.paths.course import Course, course_seconds
from routing.paths.no_route.answer import Opening
from routing.paths.request import Request, solve
from structures.findings import Finding

__all__ = ["OpenedWay", "opening_of", "try_request"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenedWay:
    """The least-time way of a request in a graph where something was changed."""

    graph: ReachGraph
    course: Course
    protocol: Protocol

    @property
    def seconds(self) -> float:
        """Its time, transfers included [s]."""
        return course_seconds(self.graph, self.course)

    def blocking(self) -> tuple[Finding, ...]:
        """Return what would make it unsafe as an answer, worst first."""
        margins = measure_margins(self.graph, self.course)
        findings = check_course(
            Case(graph=self.graph, course=self.course, margins=margins, protocol=self.protocol)
        )
        return tuple(finding for finding in findings if finding.severity == "blocks")


def try_request(graph: ReachGraph, request: Request) -> OpenedWay | None:
    """Return the way that answers a request in a changed graph, None if there is none.

    Raises
    ------
    ValueError
        The request is without a tether: such a way is no answer.
    """
    if request.protocol is None:
        raise ValueError("a way without a tether opens nothing; ask under a tether protocol")
    course = solve(graph, request)
    if course is None:
        return None
    return OpenedWay(graph=graph, course=course, protocol=request.protocol)


def opening_of(opened: OpenedWay, opening: Opening) -> Opening:
    """Return the opening with what makes its way unsafe, in its message too."""
    findings = opened.blocking()
    if not findings:
        return opening
    reasons = "; ".join(finding.message for finding in findings)
    return replace(
        opening,
        blocked_by=tuple(finding.code for finding in findings),
        message=f"{opening.message}, which is NOT SAFE: {reasons}",
    )
