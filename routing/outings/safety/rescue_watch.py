"""What an outing has to say about fetching the partner: who is not home in time, and why.

How much wider and slower two people are is an assumption of the limits, so it warns, as the
time home in tow does.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby, permutations
from math import ceil
from typing import Final

from routing.outings.clock.activity_plan import ACTS_BEGIN
from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import MINUTE_S, Schedule
from routing.outings.custody.handling import Stock
from routing.outings.plan_file.records import OutingPerson
from routing.outings.safety.rescue import Fetched, rescues_of
from routing.outings.safety.safety_records import Rescue
from routing.outings.safety.tow_cause import tow_cause
from routing.outings.safety.tow_openings import tow_openings
from routing.outings.told.causes import Cause
from routing.outings.told.findings import sorted_outing_findings
from routing.outings.told.results import OutingAnswer, OutingFinding
from routing.outings.told.times_said import clock, minutes_text
from routing.outings.told.verdict import verdict_of
from routing.outings.translations import Ground

__all__ = ["NOT_LOOKED_AT", "check_not_fetched", "with_rescues"]

NOT_LOOKED_AT: Final = "rescue-not-looked-at"
"""Code of the note on when fetching the partner was not looked at."""

_CODES: Final = {
    "no way": "no-rescue",
    "not shown": "rescue-not-shown",
    "too late": "rescue-too-late",
}


def check_not_fetched(people: Sequence[OutingPerson]) -> Iterator[OutingFinding]:
    """Yield that nobody asked yet how a partner is fetched, for a plan worked out without it."""
    if len(people) > 1:
        yield _not_looked_at(
            "how one is fetched home by another, and where the own tether is let go then"
        )


def _not_looked_at(what: str) -> OutingFinding:
    return OutingFinding(
        code=NOT_LOOKED_AT,
        severity="notes",
        message=f"NOT LOOKED AT: {what}; the times home in tow begin beside the partner, whose own "
        "tether is let go there",
        remedy="say on the day who fetches whom, and where the own tether is let go",
    )


def with_rescues(
    answer: OutingAnswer, schedule: Schedule, ground: Ground, stock: Stock
) -> OutingAnswer:
    """Return an answer with how partners are fetched home, while they are not on the way.

    Parameters
    ----------
    answer
        As it was worked out.
    schedule, ground, stock
        What it was worked out with.
    """
    people = schedule.plan.outing.people
    if len(people) == 1:
        findings = sorted_outing_findings(
            (*answer.findings, _alone(people[0].id, schedule.end_s(ACTS_BEGIN)))
        )
        return replace(answer, findings=findings, verdict=verdict_of(findings))
    fetched = rescues_of(schedule, ground, stock)
    rescues = tuple(one.rescue for one in fetched)
    findings = sorted_outing_findings(
        (
            *(
                _with_openings(one, answer, schedule, ground)
                for one in answer.findings
                if one.code != NOT_LOOKED_AT
            ),
            *_findings(fetched, schedule, ground),
            *_left_out(answer, rescues, schedule),
        )
    )
    return replace(answer, rescues=rescues, findings=findings, verdict=verdict_of(findings))


def _with_openings(
    one: OutingFinding, answer: OutingAnswer, schedule: Schedule, ground: Ground
) -> OutingFinding:
    """Say of a time without a way home in tow what would open some way, not the quickest only."""
    if one.code != "no-way-home-in-tow":
        return one
    curve = next(curve for curve in answer.home if curve.person == one.person)
    ends_s = [*(point.at_s for point in curve.points[1:]), curve.known_until_s]
    held_s: dict[str, float] = {}
    for point, end_s in zip(curve.points, ends_s, strict=True):
        if point.tow_s is None:
            held_s[point.grip] = held_s.get(point.grip, 0.0) + end_s - point.at_s
    person = next(who for who in schedule.plan.outing.people if who.id == one.person)
    opened = tow_openings(ground, person, held_s, _ever(schedule))
    return replace(one, message=f"{one.message}; {opened}")


def _ever(schedule: Schedule) -> frozenset[str]:
    """Return the conditions that are in force at any time of a plan."""
    sets = (one for act in schedule.plan.acts for one in act.sets)
    return frozenset((*schedule.plan.outing.when, *sets))


def _alone(person: str, at_s: float) -> OutingFinding:
    return OutingFinding(
        code="alone-outside",
        severity="warns",
        person=person,
        at_s=at_s,
        message=f"{person} is outside alone: nobody can fetch {person} home",
        remedy="add a second person under people (common practice, no source: nobody is outside "
        "alone)",
    )


def _left_out(
    answer: OutingAnswer, rescues: Sequence[Rescue], schedule: Schedule
) -> Iterator[OutingFinding]:
    """Yield for how long whoever is to be fetched is on the way, or lost: that is not looked at."""
    begin_s = min((one.points[0].at_s for one in answer.home if one.points), default=0.0)
    people = [one.id for one in schedule.plan.outing.people]
    said = []
    for pair in permutations(people, 2):
        spans = {(x.from_s, x.until_s) for x in rescues if (x.rescuer, x.partner) == pair}
        seen_s = sum(until_s - from_s for from_s, until_s in _joined(sorted(spans)))
        left_s = schedule.acts_end_s - begin_s - seen_s
        if left_s > SLACK_ZERO_S:
            said.append(f"{pair[0]} fetches {pair[1]} in {ceil(left_s / MINUTE_S)} min")
    if said:
        lost = any(not one.complete for one in answer.home)
        where = " or nobody knows where either is" if lost else ""
        yield _not_looked_at(
            f"how {', '.join(said)} in which the one to be fetched is on the way{where}"
        )


def _joined(spans: Sequence[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    """Yield spans in order, those that overlap or follow one another as one."""
    first: tuple[float, float] | None = None
    for from_s, until_s in spans:
        if first is None:
            first = from_s, until_s
        elif from_s <= first[1]:
            first = first[0], max(first[1], until_s)
        else:
            yield first
            first = from_s, until_s
    if first is not None:
        yield first


def _findings(
    fetched: Sequence[Fetched], schedule: Schedule, ground: Ground
) -> Iterator[OutingFinding]:
    def key(one: Fetched) -> tuple[str, str, str]:
        return one.rescue.rescuer, one.rescue.partner, one.rescue.verdict

    for (rescuer, _, verdict), group in groupby(sorted(fetched, key=key), key=key):
        if verdict != "in time":
            person = next(one for one in schedule.plan.outing.people if one.id == rescuer)
            yield _finding(list(group), schedule, ground, person)


def _finding(
    group: Sequence[Fetched], schedule: Schedule, ground: Ground, person: OutingPerson
) -> OutingFinding:
    every = [one.rescue for one in group]
    first, verdict = every[0], every[0].verdict
    spans = list(_joined([(one.from_s, one.until_s) for one in every]))
    lasts_s = sum(until_s - from_s for from_s, until_s in spans)
    acts = {one.from_s: one.partner_act or "the start" for one in every}
    when = ", ".join(
        f"{clock(from_s)} to {clock(until_s)} ({acts[from_s]} on)" for from_s, until_s in spans
    )
    minutes = ceil(lasts_s / MINUTE_S)
    if verdict == "too late":
        worst = max(every, key=lambda one: one.seconds or 0.0)
        said = (
            f"{person.id} takes up to {minutes_text(worst.seconds or 0.0)} to fetch "
            f"{worst.partner} from {worst.partner_at} home, more than "
            f"{worst.limit_s / MINUTE_S:g} min, from {when}"
        )
        value, limit = (worst.seconds or 0.0) / MINUTE_S, worst.limit_s / MINUTE_S
        cause = Cause()
    else:
        longest = max(group, key=lambda one: one.rescue.until_s - one.rescue.from_s)
        worst, value, limit = longest.rescue, lasts_s / MINUTE_S, None
        cause = _cause(longest, schedule, ground, person)
        cut_off = [one for one in group if one.begins is not None and verdict == "no way"]
        opened = _openings(cut_off, schedule, ground, person)
        found = "finds no way" if verdict == "no way" else "is not shown to be able"
        said = (
            f"{person.id} {found} to fetch {first.partner} home for {minutes} min, from {when}; "
            f"longest at {worst.partner_at}: {cause.message or worst.why}{opened}"
        )
    return OutingFinding(
        code=_CODES[verdict],
        severity="warns",
        act=first.partner_act,
        person=person.id,
        at_s=first.from_s,
        elements=tuple(dict.fromkeys((*(one.partner_at for one in every), *cause.elements))),
        message=said,
        remedy=(f"{cause.remedy}; or " if cause.remedy else "")
        + "say how the partner comes home from there, or plan the act for another place or person",
        value=value,
        limit=limit,
        unit="min",
    )


def _openings(
    cut_off: Sequence[Fetched], schedule: Schedule, ground: Ground, person: OutingPerson
) -> str:
    if not cut_off:
        return ""
    ids = ground.grips(person.id).ids
    held_s: dict[str, float] = {}
    for one in cut_off:
        if one.begins is not None:
            grip = ids[one.begins.grip]
            held_s[grip] = held_s.get(grip, 0.0) + one.rescue.until_s - one.rescue.from_s
    return f"; {tow_openings(ground, person, held_s, _ever(schedule))}"


def _cause(one: Fetched, schedule: Schedule, ground: Ground, person: OutingPerson) -> Cause:
    """Return what keeps two people from getting home from the partner, where that is it."""
    if one.begins is None or one.rescue.verdict != "no way":
        return Cause()
    return tow_cause(schedule, ground, person, one.begins)
