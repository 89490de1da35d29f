"""Checks of a found route: what a reviewer must know before anybody follows it.

Each check is a small function that yields findings: the condition, what
follows from it, what to do. A finding that blocks makes the route unsafe.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from routing.graph.reach_graph import GripKind, ReachGraph
from routing.limits import Limits, limit_source
from routing.paths.course import Course
from routing.paths.results import Margins, Protocol
from structures.elements import Hatch, TetherPoint
from structures.findings import Finding, sorted_findings
from structures.solids.distance import signed_distance
from structures.solids.sweep import SWEEP_TOLERANCE_M
from structures.units import INCH_M

__all__ = ["THIN_MARGIN_M", "Case", "check_course"]

THIN_MARGIN_M: Final = INCH_M
"""Margins below this are pointed out [m]; our own choice: less than a hand's width."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What is checked: a course in its graph, with its margins, under a protocol."""

    graph: ReachGraph
    course: Course
    margins: Margins
    protocol: Protocol


Check = Callable[[Case], Iterator[Finding]]

_USED: Final = ("reach_m", "max_turn_deg", "corridor_radius_m", "rate_m_per_s", "hook_reach_m")
"""Limits that every route stands on; a person may bring some of them along."""


def check_course(case: Case) -> tuple[Finding, ...]:
    """Return all findings about a course, worst first."""
    return sorted_findings(finding for check in _CHECKS for finding in check(case))


def _line_runs_out(case: Case) -> Iterator[Finding]:
    line = case.margins.line
    if line is None or line.runs_out_at is None:
        return
    element = case.graph.grips.element_ids[case.graph.grips.ids.index(line.runs_out_at)]
    yield Finding(
        code="line-runs-out",
        severity="blocks",
        elements=(element,),
        message=(
            f"the safety tether runs out on {element} after {line.runs_out_after_m:.2f} m of way: "
            f"{line.least_left_m:.2f} m are left at the worst place, {line.reserve_m:.2f} m must "
            "be; take a longer tether, a transfer or another way"
        ),
        value=line.least_left_m,
        limit=line.reserve_m,
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
        ids = {hatch.tether_point for hatch in found if isinstance(hatch, Hatch)}
    points = [case.graph.structure.by_id.get(point_id) for point_id in sorted(ids)]
    return tuple(point for point in points if isinstance(point, TetherPoint))


def _thin_gap(case: Case) -> Iterator[Finding]:
    gap = case.margins.gap
    if gap is None or gap.left_m >= THIN_MARGIN_M:
        return
    ids = case.graph.grips.ids
    elements = tuple(
        case.graph.grips.element_ids[ids.index(g)] for g in (gap.from_grip, gap.to_grip)
    )
    yield Finding(
        code="gap-near-reach",
        severity="warns",
        elements=elements,
        message=(
            f"the hands need {gap.fails_below_reach_m:.3f} m of {gap.reach_m:.3f} m reach, "
            f"{gap.left_m:.3f} m are left; check both handrails' places on drawings"
        ),
        value=gap.left_m,
        limit=THIN_MARGIN_M,
        unit="m",
    )


def _thin_clearance(case: Case) -> Iterator[Finding]:
    tight = case.margins.clearance
    if tight is None or tight.clearance_m >= THIN_MARGIN_M:
        return
    against = tight.zone or tight.solid
    # What is measured is a lower bound, so touching may come out as just below 0.
    clear = tight.clearance_m >= -SWEEP_TOLERANCE_M
    yield Finding(
        code="corridor-tight" if clear else "corridor-not-clear",
        severity="warns" if clear else "blocks",
        elements=() if against is None else (against,),
        message=(
            f"the body corridor passes {against} with {tight.clearance_m:.3f} m to spare; "
            "check the place on drawings before it is used"
        ),
        value=tight.clearance_m,
        limit=THIN_MARGIN_M if clear else 0.0,
        unit="m",
    )


def _kick_sensitive(case: Case) -> Iterator[Finding]:
    """Kick loads count within 24 in of a translation path (SSP 30256:001 Rev F, 3.1.3-1)."""
    distance_m = case.graph.situation.limits.kick_distance_m
    hands_m = case.graph.grips.position_m[np.array(case.course.grips)]
    for solid in sorted(case.graph.structure.solids, key=lambda solid: solid.id):
        if not solid.kick_sensitive:
            continue
        nearest_m = float(signed_distance(solid.volume, hands_m).min())
        if nearest_m <= distance_m:
            yield Finding(
                code="kick-sensitive-near",
                severity="warns",
                elements=(solid.id,),
                message=(
                    f"{solid.id} must not be kicked, and the hands pass it at {nearest_m:.2f} m, "
                    f"within {distance_m:.2f} m; say so in the step or go another way"
                ),
                value=nearest_m,
                limit=distance_m,
                unit="m",
            )


def _start_without_hook(case: Case) -> Iterator[Finding]:
    if case.protocol != "leapfrog":
        return
    if not any(anchoring.starts for anchoring in case.course.anchorings):
        element = case.graph.grips.element_ids[case.course.grips[0]]
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


def _via_on_reels(case: Case) -> Iterator[Finding]:
    if case.protocol == "reel" and case.course.via_at:
        yield Finding(
            code="via-on-reel-not-proven-best",
            severity="notes",
            message=(
                "with via sites on a reel the route keeps every tether rule, but is not proven "
                "to be the fastest; ask for the legs one by one if seconds matter"
            ),
        )


def _limits_unconfirmed(case: Case) -> Iterator[Finding]:
    limits = case.graph.situation.limits
    person = case.graph.situation.person
    own = set() if person is None else person.model_dump(exclude_none=True).keys()
    open_ones = [name for name in _USED if name not in own and _is_placeholder(limits, name)]
    if open_ones:
        yield Finding(
            code="limits-not-confirmed",
            severity="notes",
            message=(
                f"these limits are planning placeholders: {', '.join(open_ones)}; "
                "give the programme's own values before the route is used"
            ),
        )


def _is_placeholder(limits: Limits, name: str) -> bool:
    source = limit_source(name)
    return getattr(limits, name) == Limits.model_fields[name].default and (
        "from memory" in source or "own planning assumption" in source
    )


_CHECKS: Final[tuple[Check, ...]] = (
    _line_runs_out,
    _anchor_ratings,
    _thin_gap,
    _thin_clearance,
    _kick_sensitive,
    _start_without_hook,
    _left_outside,
    _via_on_reels,
    _limits_unconfirmed,
)
