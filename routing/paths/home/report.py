"""The time home along a course, as a record, and what has to be said about it."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Literal

from routing.graph.reach_graph import ReachGraph
from routing.paths.answers.results import HoldHomeward, HomeVerdict, Homeward, Protocol
from routing.paths.course import Course
from routing.paths.home.ground import HomeGround, NoWayHomeError
from routing.paths.home.homeward import HoldHome, homeward_table
from routing.paths.tethers.kit import Kit
from structures.findings import Finding
from structures.units import number_text

__all__ = ["home_ground", "home_verdict", "report_home"]


def home_ground(
    graph: ReachGraph, protocol: Protocol, kit: Kit | None, *, leave: bool
) -> HomeGround | NoWayHomeError:
    """Return where home is and by which rules one gets there, or why there is none.

    Parameters as in `report_home`. One ground serves all courses under the same rules.
    """
    try:
        return HomeGround(graph=graph, protocol=protocol, kit=kit, leave=leave)
    except NoWayHomeError as error:
        return error


def report_home(
    ground: HomeGround | NoWayHomeError, course: Course
) -> tuple[Homeward | None, tuple[Finding, ...]]:
    """Return the time home from every hold, and findings where it is too long or unknown.

    Parameters
    ----------
    ground
        Of the graph, protocol and kit that the course was found with (`home_ground`).

    Returns
    -------
    Homeward | None
        None where there is no hatch to go home to.
    tuple of Finding
        One that blocks where the longest time is above the limit, and one where
        from some hold no way leads home: unknown is never in time.
    """
    if isinstance(ground, NoWayHomeError):
        return None, (_not_known((), str(ground)),)
    graph, protocol, leave = ground.graph, ground.protocol, ground.leave
    holds = homeward_table(ground, course)
    worst = max(range(len(holds)), key=lambda at: _rank(holds[at]))
    tethers: Literal["recovered", "left"] | None = None
    if protocol != "leapfrog":
        tethers = "left" if leave else "recovered"
    record = Homeward(
        tethers=tethers,
        hatches=tuple(sorted(set(ground.hatches.values()))),
        limit_s=graph.situation.limits.time_home_limit_s,
        worst_index=worst,
        worst_grip=graph.grips.ids[course.grips[worst]],
        worst_s=holds[worst].seconds,
        holds=tuple(
            HoldHomeward(
                grip=graph.grips.ids[grip],
                seconds=hold.seconds,
                transfers=hold.transfers,
                left_outside=hold.left,
                why=hold.why or None,
            )
            for grip, hold in zip(course.grips, holds, strict=True)
        ),
    )
    elements = [graph.grips.element_ids[grip] for grip in course.grips]
    return record, tuple(_findings(record, elements))


def home_verdict(findings: Iterable[Finding]) -> HomeVerdict:
    """Return what the findings of `report_home` come to; what is not known weighs most."""
    codes = {finding.code for finding in findings}
    if "home-not-known" in codes:
        return "not known"
    return "too late" if "home-too-late" in codes else "in time"


def _rank(hold: HoldHome) -> float:
    return float("inf") if hold.seconds is None else hold.seconds


def _findings(record: Homeward, elements: Sequence[str]) -> Iterator[Finding]:
    at = record.worst_index
    if record.worst_s is None:
        lost = sum(hold.seconds is None for hold in record.holds)
        told = f"from {lost} of {len(record.holds)} holds no time home is known: "
        yield _not_known((elements[at],), told + str(record.holds[at].why))
    timed = [
        (hold.seconds, -at) for at, hold in enumerate(record.holds) if hold.seconds is not None
    ]
    longest_s, at = max(timed, default=(0.0, 0))
    if longest_s > record.limit_s:
        yield Finding(
            code="home-too-late",
            severity="blocks",
            elements=(elements[-at],),
            message=(
                f"from {record.holds[-at].grip} the way home takes "
                f"{number_text(longest_s, 'up', 0)} s, and no more than {record.limit_s:.0f} s are "
                "allowed; take a quicker protocol or way, or plan a place of shelter"
            ),
            value=longest_s,
            limit=record.limit_s,
            unit="s",
        )


def _not_known(elements: tuple[str, ...], why: str) -> Finding:
    return Finding(code="home-not-known", severity="blocks", elements=elements, message=why)
