"""Both people at one handrail at one time, nearer to each other than one takes room."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from routing.graph.reach_graph import GripKind
from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.safety.moments import Moment
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground
from structures.units import fine_text

__all__ = ["Near", "check_people_near", "people_near"]


class Near(NamedTuple):
    """A stretch of time in which two people are too near on one handrail."""

    start_s: float
    end_s: float
    first: Moment
    second: Moment
    handrail: str
    apart_m: float
    """At the nearest [m]."""


def people_near(
    ground: Ground, first: Sequence[Moment], second: Sequence[Moment], until_s: float
) -> tuple[Near, ...]:
    """Return where two people are too near on one handrail, stretch by stretch, by time.

    Parameters
    ----------
    first, second
        Moments of two people, by time; each is where it says until its next one.
    until_s
        When the acts are done [s].

    Notes
    -----
    Along the handrail, between grips. The way to an act that they do together, and being
    there until one of them goes on, does not count.
    Whoever is on the way to the next grip counts at the grip left.
    """
    if not first or not second:
        return ()
    grips = ground.graph(first[0].person, None, ()).grips
    others = _spans(second, until_s)
    found: list[Near] = []
    at = 0
    for begins_s, ends_s, one in _spans(first, until_s):
        while at and others[at - 1][1] > begins_s:
            at -= 1
        while at < len(others) and others[at][1] <= begins_s:
            at += 1
        for start_s, end_s, other in others[at:]:
            if start_s >= ends_s:
                break
            if grips.kind[one.grip] != GripKind.HANDRAIL or _together(one, other):
                continue
            if grips.element_ids[one.grip] != grips.element_ids[other.grip]:
                continue
            apart_m = abs(float(grips.along_m[one.grip] - grips.along_m[other.grip]))
            both_s = (max(begins_s, start_s), min(ends_s, end_s))
            if apart_m < ground.limits.people_apart_m and both_s[1] - both_s[0] > SLACK_ZERO_S:
                found.append(Near(*both_s, one, other, grips.element_ids[one.grip], apart_m))
    return tuple(_joined(found))


def _together(one: Moment, other: Moment) -> bool:
    return other.person in one.with_others or one.person in other.with_others


def _spans(moments: Sequence[Moment], until_s: float) -> list[tuple[float, float, Moment]]:
    """Return (start, end, moment); the last one lasts until everything is done."""
    spans = [(one.at_s, following.at_s, one) for one, following in pairwise(moments)]
    return [*spans, (moments[-1].at_s, until_s, moments[-1])]


def _joined(found: Sequence[Near]) -> Iterator[Near]:
    """Join stretches that follow each other."""
    now: Near | None = None
    for one in sorted(found, key=lambda near: (near.start_s, near.end_s)):
        if now is None or one.start_s > now.end_s + SLACK_ZERO_S:
            if now is not None:
                yield now
            now = one
            continue
        nearest = min(now, one, key=lambda near: near.apart_m)
        now = nearest._replace(start_s=now.start_s, end_s=max(now.end_s, one.end_s))
    if now is not None:
        yield now


def check_people_near(ground: Ground, near: Sequence[Near]) -> Iterator[OutingFinding]:
    """Yield one finding for all stretches of two people, at the first of them."""
    if not near:
        return
    limit_m = ground.limits.people_apart_m
    one, nearest_m = near[0], min(stretch.apart_m for stretch in near)
    where = ", ".join(
        f"{stretch.handrail} from {clock(stretch.start_s)} to {clock(stretch.end_s)}"
        for stretch in near
    )
    yield OutingFinding(
        code="people-too-near",
        severity="warns",
        act=one.second.act or one.first.act,
        person=one.second.person,
        at_s=one.start_s,
        elements=tuple(sorted({stretch.handrail for stretch in near})),
        message=f"{one.first.person} and {one.second.person} are both on {where}, at the nearest "
        f"{fine_text(nearest_m, 'down')} from each other, less than {fine_text(limit_m)}",
        remedy=f"let {one.second.person} begin {one.second.act or 'the first act'} later, or "
        "send one of them another way",
        value=nearest_m,
        limit=limit_m,
        unit="m",
    )
