"""Checks of the tethers on a found route."""

from collections.abc import Callable, Iterator
from typing import Final, TypeAlias

import numpy as np

from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.ways import LENGTH_SLACK_M
from routing.paths.answers.results import Margins, Protocol
from routing.paths.course import Course
from structures.elements import Hatch, TetherPoint
from structures.findings import Finding
from structures.frozen import frozen
from structures.solids.seams import line_blocked
from structures.solids.sweep import Sweep, sweep_clears
from structures.units import length_text

__all__ = ["TETHER_CHECKS", "Case", "Check", "anchor_findings"]


@frozen(kw_only=True)
class Case:
    """What is checked: a course in its graph, with its margins, under a protocol."""

    graph: ReachGraph
    course: Course
    margins: Margins
    protocol: Protocol


Check: TypeAlias = Callable[[Case], Iterator[Finding]]


def _line_runs_out(case: Case) -> Iterator[Finding]:
    line = case.margins.line
    if line is None or line.runs_out_at is None:
        return
    element = case.graph.grips.element_ids[case.graph.grips.ids.index(line.runs_out_at)]
    way_m = line.runs_out_after_m
    after = "" if way_m is None else f" after {length_text(way_m, 'down', feet=True)} of way"
    yield Finding(
        code="line-runs-out",
        severity="blocks",
        elements=(element,),
        message=(
            f"the safety tether runs out on {element}{after}: "
            f"{length_text(line.least_left_m, 'down', feet=True)} are left at the worst "
            f"place, {length_text(line.reserve_m, feet=True)} must be; "
            "take a longer tether, a transfer or another way"
        ),
        value=line.least_left_m,
        limit=line.reserve_m,
        unit="m",
    )


def _first_line(case: Case) -> Iterator[Finding]:
    """Look at the first line: its payout is taken as straight, so it must run straight.

    A line that comes from an earlier route was looked at when it was hooked on.
    """
    first = case.course.anchorings[0] if case.course.anchorings else None
    if first is None or not first.starts or first.hung_before or first.line_m is None:
        return
    point = case.graph.structure.find(first.element_id, (TetherPoint,))
    grip = case.course.grips[0]
    hook_m = np.array([point.position_m])
    hand_m = case.graph.grips.position_m[[grip]]
    if first.payout_m[0] > float(np.linalg.norm(hook_m - hand_m)) + LENGTH_SLACK_M:
        return
    element = case.graph.grips.element_ids[grip]
    yield from _first_hook_far(case, point, element, float(first.payout_m[0]))
    around = case.graph.surroundings
    blocked = bool(line_blocked(around.solids.tables, hook_m, hand_m)[0])
    still = np.array([[1.0, 0.0, 0.0]])
    line = Sweep(hook_m, hand_m, still, still, 0.0)
    barred = bool(around.line.shapes) and not bool(sweep_clears(around.line.shapes, line, 0.0)[0])
    if blocked or barred:
        yield Finding(
            code="first-line-in-zone" if barred else "first-line-blocked",
            severity="blocks",
            elements=(point.id, element),
            message=(
                f"the tether line from {point.id} to {element} goes through "
                f"{'a keep-out zone for tethers' if barred else 'a solid'}, so the line out is "
                "not known there; hook the first tether on where its line runs clear"
            ),
        )


def _first_hook_far(
    case: Case, point: TetherPoint, element: str, away_m: float
) -> Iterator[Finding]:
    reach_m = case.graph.situation.limits.hook_reach_m
    if away_m > reach_m + LENGTH_SLACK_M:
        yield Finding(
            code="first-hook-out-of-reach",
            severity="blocks",
            elements=(point.id, element),
            message=(
                f"tether point {point.id} is {length_text(away_m, 'up', feet=True)} from "
                f"{element}, where the route starts on its tether, and a hook is put on within "
                f"{length_text(reach_m, 'down', feet=True)}; give the hatch a tether point "
                "near by, or correct where they are"
            ),
            value=away_m,
            limit=reach_m,
            unit="m",
        )


def _anchor_ratings(case: Case) -> Iterator[Finding]:
    least_n = case.graph.situation.limits.tether_point_rating_n
    for point in _points_used(case):
        if point.rating_n is None:
            yield Finding(
                code="tether-point-not-rated",
                severity="blocks",
                elements=(point.id,),
                message=(
                    f"tether point {point.id} has no rating, and unknown is not enough for a "
                    f"safety tether; give its rating, at least {least_n:g} N, or use another"
                ),
                limit=least_n,
                unit="N",
            )
        elif point.rating_n < least_n:
            yield Finding(
                code="tether-point-too-weak",
                severity="blocks",
                elements=(point.id,),
                message=(
                    f"tether point {point.id} is rated {point.rating_n:g} N, below the "
                    f"{least_n:g} N a safety tether needs; use another tether point"
                ),
                value=point.rating_n,
                limit=least_n,
                unit="N",
            )


def _points_used(case: Case) -> tuple[TetherPoint, ...]:
    """Return the tether points that hold a safety tether on the way, in id order."""
    ids = {anchoring.element_id for anchoring in case.course.anchorings}
    if case.protocol == "leapfrog":
        hatches = {
            case.graph.grips.element_ids[grip]
            for grip in case.course.grips
            if int(case.graph.grips.kind[grip]) == GripKind.HATCH
        }
        found = [case.graph.structure.find(hatch, (Hatch,)) for hatch in hatches]
        ids = {hatch.tether_point for hatch in found}
    points = [case.graph.structure.by_id.get(point_id) for point_id in sorted(ids)]
    return tuple(point for point in points if isinstance(point, TetherPoint))


def _start_without_hook(case: Case) -> Iterator[Finding]:
    """At a hatch nothing else holds a person; elsewhere the step before may have left a hook."""
    if case.protocol != "leapfrog":
        return
    if any(anchoring.starts for anchoring in case.course.anchorings):
        return
    start = case.course.grips[0]
    element = case.graph.grips.element_ids[start]
    if int(case.graph.grips.kind[start]) == GripKind.HATCH:
        point_id = case.graph.structure.find(element, (Hatch,)).tether_point
        yield Finding(
            code="hatch-without-hook",
            severity="blocks",
            elements=(element, point_id),
            message=(
                f"no short tether can be hooked on at hatch {element}: its tether point {point_id} "
                "is closed, out of hook reach or not in a clear line, so nothing would hold the "
                "person; open it, or give the hatch another tether point"
            ),
        )
        return
    yield Finding(
        code="start-without-hook",
        severity="warns",
        elements=(element,),
        message=(
            f"no short tether can be hooked on at {element}, where the route starts; say on "
            "what it hangs there, and keep it on until the first hook is on a handrail"
        ),
    )


def _left_outside(case: Case) -> Iterator[Finding]:
    """Coming home means on the tether of the hatch, with all others recovered."""
    hatch = case.graph.structure.by_id.get(case.graph.grips.element_ids[case.course.grips[-1]])
    if case.protocol != "reel" or not isinstance(hatch, Hatch):
        return
    last = case.course.anchorings[-1].element_id
    if last != hatch.tether_point:
        yield Finding(
            code="tether-left-outside",
            severity="warns",
            elements=(last, hatch.tether_point),
            message=(
                f"the route ends at hatch {hatch.id} on the tether from {last}, and an earlier one "
                "is left outside; go back along the lay to recover it, or plan for it to stay"
            ),
        )


def _not_proven_best(case: Case) -> Iterator[Finding]:
    if case.course.unproven_s > 0:
        yield Finding(
            code="not-proven-best",
            severity="notes",
            message=(
                "the search by all via sites gave up: the route keeps every tether rule, but "
                f"another may be up to {case.course.unproven_s:.0f} s faster; ask for the legs "
                "one by one, or with fewer via sites, if seconds matter"
            ),
            value=case.course.unproven_s,
            unit="s",
        )


def anchor_findings(case: Case) -> Iterator[Finding]:
    """Check only what tethers are hooked on to and how the first line runs; needs no margins."""
    yield from _first_line(case)
    yield from _anchor_ratings(case)
    yield from _start_without_hook(case)


TETHER_CHECKS: Final[tuple[Check, ...]] = (
    _line_runs_out,
    _first_line,
    _anchor_ratings,
    _start_without_hook,
    _left_outside,
    _not_proven_best,
)
