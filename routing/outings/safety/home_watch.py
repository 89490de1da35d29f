"""Time home over the whole outing, against the limit: curves and findings."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from math import ceil, inf

from routing.outings.clock.schedule import MINUTE_S, Schedule
from routing.outings.plan_file.records import OutingPerson
from routing.outings.safety.home_times import TimesHome
from routing.outings.safety.moments import Moment
from routing.outings.safety.safety_records import HomeCurve, HomePoint
from routing.outings.safety.tow_cause import tow_cause
from routing.outings.told.causes import Cause, cause_of
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock, minutes_text
from routing.outings.translations import Ground
from structures.findings import Severity

__all__ = ["all_known", "check_times_home", "home_curve"]


def home_curve(
    schedule: Schedule, ground: Ground, person: str, moments: Sequence[Moment]
) -> HomeCurve:
    """Return the time home from every moment of one person.

    Between two holds it is at most that of the later one and the rest of the hand-over.
    In tow there is one transfer more: hook the partner on, and let go of the partner's own
    tether. That and the partner's other tethers stay where they are.
    """
    planned = next(one for one in schedule.plan.outing.people if one.id == person)
    grips = ground.graph(person, None, ()).grips.ids
    outing = schedule.plan.outing
    by_s = MINUTE_S * (
        outing.outing_limits.consumables_min
        - outing.blocks.ingress_min
        - outing.blocks.before_repress_min
    )
    partner_s = ground.limits.transfer_s if len(outing.people) > 1 else 0.0
    points = tuple(
        _point(moment, times, grips, (by_s, partner_s))
        for moment, times in zip(moments, ground.homes.along(planned, moments), strict=True)
    )
    known = all_known(schedule, person)
    return HomeCurve(
        person=person,
        limit_s=ground.limits.time_home_limit_s,
        points=points,
        worst=max(points, key=lambda one: _or_never(one.home_s), default=None),
        worst_tow=max(points, key=lambda one: _or_never(one.tow_s), default=None),
        known_until_s=schedule.acts_end_s if known else (points[-1].at_s if points else 0.0),
        complete=known,
    )


def _point(
    moment: Moment, times: TimesHome, grips: Sequence[str], fixed_s: tuple[float, float]
) -> HomePoint:
    """Return a point of the curve.

    Parameters
    ----------
    fixed_s
        When one must be back at the hatch, and what hooking the partner on takes [s].
    """
    by_s, partner_s = fixed_s
    home_s = times.alone.seconds
    return HomePoint(
        at_s=moment.at_s,
        act=moment.act,
        grip=grips[moment.grip],
        home_s=home_s,
        latest_turn_s=None if home_s is None else by_s - home_s,
        how=times.alone.manner,
        tow_s=None if times.tow_s is None else times.tow_s + partner_s,
        tow_exact=times.tow_exact,
    )


def all_known(schedule: Schedule, person: str) -> bool:
    """Tell whether every way of a person was found: else it is not known where that person is."""
    leg = schedule.leg
    trips = [*leg.trips.values(), *leg.laying.values()]
    return person in leg.begins and all(
        trip.route is not None for trip in trips if trip.person == person
    )


def _or_never(seconds: float | None) -> float:
    return inf if seconds is None else seconds


def check_times_home(
    curves: Sequence[HomeCurve],
    schedule: Schedule,
    ground: Ground,
    moments: Mapping[str, Sequence[Moment]],
) -> Iterator[OutingFinding]:
    """Yield who is not home in time, with the stretches of time and the worst moment.

    Alone that blocks, and the conditions that shut the way are named. With the partner in
    tow it warns: how much wider and slower two people are is an assumption of the limits;
    where no way leads home what keeps two people off the way home alone is named.
    """
    for curve in curves:
        planned = next(one for one in schedule.plan.outing.people if one.id == curve.person)
        by_point = dict(zip(map(id, curve.points), moments[curve.person], strict=True))

        def cause(
            worst: HomePoint,
            limit_s: float = curve.limit_s,
            planned: OutingPerson = planned,
            by_point: Mapping[int, Moment] = by_point,
        ) -> Cause:
            moment = by_point[id(worst)]

            def opens(when: tuple[str, ...]) -> bool:
                home_s = ground.homes.alone(planned, replace(moment, when=when)).seconds
                return home_s is not None and (worst.home_s is None or home_s <= limit_s)

            return cause_of(schedule, ground, moment.when, opens)

        yield from _stretches(curve, tow=False, cause=cause)

        def towed(
            worst: HomePoint,
            planned: OutingPerson = planned,
            by_point: Mapping[int, Moment] = by_point,
        ) -> Cause:
            if worst.tow_s is not None:
                return Cause()
            return tow_cause(schedule, ground, planned, by_point[id(worst)])

        yield from _stretches(curve, tow=True, cause=towed)


def _stretches(
    curve: HomeCurve, *, tow: bool, cause: Callable[[HomePoint], Cause]
) -> Iterator[OutingFinding]:
    def seconds(point: HomePoint) -> float:
        return _or_never(point.tow_s if tow else point.home_s)

    def verdict(point: HomePoint) -> str:
        if seconds(point) == inf:
            return "no way"
        return "in time" if seconds(point) <= curve.limit_s else "too late"

    if not curve.points:
        return  # nobody can be where it starts, and that blocks already
    ends_s = [*(point.at_s for point in curve.points[1:]), curve.known_until_s]
    timed = zip(curve.points, ends_s, strict=True)
    stretches: dict[str, list[list[tuple[HomePoint, float]]]] = {}
    for said, group in groupby(timed, key=lambda one: verdict(one[0])):
        if said != "in time":
            stretches.setdefault(said, []).append(list(group))
    for found in stretches.values():
        worst = max((point for stretch in found for point, _ in stretch), key=seconds)
        lasts_s = sum(stretch[-1][1] - stretch[0][0].at_s for stretch in found)
        one = _finding(curve, worst, list(_joined(found)), lasts_s, tow=tow)
        longest = _longest(found) if tow else worst
        why = cause(longest)
        if why.message:
            there = "" if longest.grip == worst.grip else f"longest at {longest.grip}: "
            one = replace(
                one,
                message=f"{one.message}; {there}{why.message}",
                remedy=f"{why.remedy}; or {one.remedy}" if why.remedy else one.remedy,
                elements=(*one.elements, *why.elements),
            )
        yield one


def _longest(found: Sequence[Sequence[tuple[HomePoint, float]]]) -> HomePoint:
    """Return the first point at the grip that is held longest in some stretches of time."""
    held_s: dict[str, float] = {}
    first: dict[str, HomePoint] = {}
    for point, ends_s in (one for stretch in found for one in stretch):
        held_s[point.grip] = held_s.get(point.grip, 0.0) + ends_s - point.at_s
        first.setdefault(point.grip, point)
    return first[max(held_s, key=lambda grip: held_s[grip])]


def _joined(found: Sequence[Sequence[tuple[HomePoint, float]]]) -> Iterator[str]:
    """Yield stretches of time as text, those less than a minute apart as one."""
    spans: list[tuple[float, float, str]] = []
    for stretch in found:
        first, ends_s = stretch[0][0], stretch[-1][1]
        if spans and first.at_s - spans[-1][1] < MINUTE_S:
            spans[-1] = (spans[-1][0], ends_s, spans[-1][2])
        else:
            spans.append((first.at_s, ends_s, first.act or "the start"))
    for start_s, end_s, act in spans:
        yield f"{clock(start_s)} to {clock(end_s)} ({act} on)"


def _finding(
    curve: HomeCurve, worst: HomePoint, spans: Sequence[str], lasts_s: float, *, tow: bool
) -> OutingFinding:
    seconds = worst.tow_s if tow else worst.home_s
    severity: Severity = "warns" if tow else "blocks"
    partner = " with the partner in tow" if tow else ""
    when = f"from {', '.join(spans)}"
    if seconds is None:
        return OutingFinding(
            code="no-way-home-in-tow" if tow else "no-way-home",
            severity=severity,
            act=worst.act,
            person=curve.person,
            at_s=worst.at_s,
            elements=(worst.grip,),
            message=f"{curve.person} finds no way home{partner} for "
            f"{ceil(lasts_s / MINUTE_S)} min, first at {worst.grip}: {when}",
            remedy="say how the partner comes home from there, or plan the act for somebody smaller"
            if tow
            else "go there another way, carry less, or leave a tether where it is",
            value=lasts_s / MINUTE_S,
            unit="min",
        )
    return OutingFinding(
        code="home-too-late-in-tow" if tow else "home-too-late",
        severity=severity,
        act=worst.act,
        person=curve.person,
        at_s=worst.at_s,
        elements=(worst.grip,),
        message=f"{when} {curve.person} takes up to {minutes_text(seconds)} home{partner}, at "
        f"worst from {worst.grip} at {clock(worst.at_s)}, more than "
        f"{curve.limit_s / MINUTE_S:g} min"
        + ("" if tow else ", even without load and with tethers left outside"),
        remedy="work nearer to the hatch, go there by a shorter way, or take tethers up before",
        value=seconds / MINUTE_S,
        limit=curve.limit_s / MINUTE_S,
        unit="min",
    )
