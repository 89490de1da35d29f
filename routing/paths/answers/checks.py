"""Checks of a found route: what a reviewer must know before anybody follows it.

Each check is a small function that yields findings: the condition, what
follows from it, what to do. A finding that blocks makes the route unsafe.
"""

from collections.abc import Iterator
from typing import Final

import numpy as np

from routing.limits import Limits, limit_source
from routing.paths.answers.tether_checks import TETHER_CHECKS, Case, Check
from structures.doubtful import check_items, check_length_unit, check_people, check_spans
from structures.fields import file_key
from structures.findings import Finding, sorted_findings
from structures.solids.distance import signed_distance
from structures.solids.sweep import SWEEP_TOLERANCE_M
from structures.units import INCH_M, fine_text, length_text

__all__ = ["THIN_MARGIN_M", "check_course"]

THIN_MARGIN_M: Final = INCH_M
"""Margins below this are pointed out [m]; our own choice: less than a hand's width."""


_USED: Final = ("reach_m", "max_turn_deg", "corridor_radius_m", "rate_m_per_s", "hook_reach_m")
"""Limits that every route stands on; a person may bring some of them along."""


def check_course(case: Case) -> tuple[Finding, ...]:
    """Return all findings about a course, worst first."""
    return sorted_findings(finding for check in _CHECKS for finding in check(case))


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
            f"the hands need {fine_text(gap.fails_below_reach_m, 'up')} of "
            f"{fine_text(gap.reach_m)} reach, "
            f"{fine_text(gap.left_m, 'down')} are left; check both handrails' places on drawings"
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
            f"the body corridor passes {against} with "
            f"{fine_text(tight.clearance_m, 'down')} to spare; "
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
    near = set(case.graph.surroundings.solids.around(hands_m, distance_m + THIN_MARGIN_M).ids)
    for solid in sorted(case.graph.structure.solids, key=lambda solid: solid.id):
        if not solid.kick_sensitive or solid.id not in near:
            continue
        nearest_m = float(signed_distance(solid.volume, hands_m).min())
        if nearest_m <= distance_m:
            yield Finding(
                code="kick-sensitive-near",
                severity="warns",
                elements=(solid.id,),
                message=(
                    f"{solid.id} must not be kicked, and the hands pass it at "
                    f"{length_text(nearest_m, 'down')}, "
                    f"within {distance_m:.2f} m; say so in the step or go another way"
                ),
                value=nearest_m,
                limit=distance_m,
                unit="m",
            )


def _limits_unconfirmed(case: Case) -> Iterator[Finding]:
    limits = case.graph.situation.limits
    person = case.graph.situation.person
    own = {name for name in _USED if getattr(person, name, None) is not None}
    open_ones = [name for name in _USED if name not in own and _is_placeholder(limits, name)]
    if open_ones:
        keys = ", ".join(file_key(name) for name in open_ones)
        yield Finding(
            code="limits-not-confirmed",
            severity="notes",
            message=(
                f"these limits are planning placeholders: {keys}; "
                "give the programme's own values before the route is used"
            ),
        )


def _doubtful_values(case: Case) -> Iterator[Finding]:
    """Doubt the unit, and the numbers of the limits, the person and the load in force."""
    graph, situation = case.graph, case.graph.situation
    limits, person, carry = situation.limits, situation.person, situation.carry
    yield from check_length_unit(graph.structure.handrails, glove_grip_m=limits.glove_grip_m)
    yield from check_spans(limits, "the limits", without=person)
    yield from check_people([] if person is None else [person])
    yield from check_items([] if carry is None else [carry])


def _is_placeholder(limits: Limits, name: str) -> bool:
    source = limit_source(name)
    return getattr(limits, name) == Limits.model_fields[name].default and (
        "from memory" in source or "own planning assumption" in source
    )


_CHECKS: Final[tuple[Check, ...]] = (
    *TETHER_CHECKS,
    _thin_gap,
    _thin_clearance,
    _kick_sensitive,
    _limits_unconfirmed,
    _doubtful_values,
)
