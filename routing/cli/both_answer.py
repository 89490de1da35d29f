"""The answer of `gripway both`, as a record and as text for people."""

from collections.abc import Iterator
from typing import Any, Final, Literal

from routing.cli.answers import AnswerHead
from routing.paths.answers.results import HOME_NOT_LOOKED_AT, Route
from routing.paths.two_people.both import BothRoutes, LineContact, RoutePair
from routing.paths.two_people.goals_near import GoalsNear
from routing.paths.two_people.meeting import Meeting, MeetingRoutes
from structures.counting import counted
from structures.units import length_text

__all__ = ["BothAnswer", "MeetingAnswer", "both_schema", "both_text", "meeting_text"]

_HOME: Final = (
    f"{HOME_NOT_LOOKED_AT[0].upper()}{HOME_NOT_LOOKED_AT[1:]} (`gripway route` with --homeward, "
    "`gripway outing` for both)."
)


class BothAnswer(AnswerHead):
    """The answer of `gripway both`."""

    answer: Literal["both"] = "both"
    reels_m: tuple[float, ...]
    """Length of each reel that the first person has [m]."""
    second_reels_m: tuple[float, ...]
    """Length of each reel that the second person has [m]."""
    safe: bool
    """Whether there is a pair of safe routes, with room at the ends, whose lines do not cross."""
    routes: BothRoutes


class MeetingAnswer(AnswerHead):
    """The answer of `gripway both --protocol leapfrog`."""

    answer: Literal["both on short tethers"] = "both on short tethers"
    safe: bool
    """Whether both routes are safe, the short tethers stay apart and both have room at the ends."""
    routes: MeetingRoutes


def both_schema() -> dict[str, Any]:
    """Return the JSON Schema of the answers, on reels and under leapfrog."""
    from pydantic import TypeAdapter

    schema: dict[str, Any] = TypeAdapter(BothAnswer | MeetingAnswer).json_schema(
        mode="serialization"
    )
    return schema


def meeting_text(found: MeetingRoutes) -> Iterator[str]:
    """Yield the verdict, both routes, and when the two are near each other."""
    if found.missing:
        yield "NO ROUTE for one of the two."
        yield from (answer.message for answer in found.missing)
        return
    words = f"{found.verdict[0].upper()}{found.verdict[1:]}."
    yield f"{words if found.safe else f'NOT SAFE: {found.verdict}.'} {_HOME}"
    yield (
        "Short tethers stay nowhere behind, so no lines cross for good; they can come together "
        f"while hands are within {length_text(found.within_m, feet=True)} of each other "
        "(two short tethers and the distance lines must keep); "
        f"the second person starts {found.second_after_s:.0f} s later."
    )
    for who, route in (("first", found.first), ("second", found.second)):
        if route is not None:
            yield from _person(who, route, f"transfers {route.totals.transfers}")
    yield from (f"  {_meeting(meeting)}" for meeting in found.meetings)
    if found.goals_near is not None:
        yield f"  {_near(found.goals_near)}"


def _meeting(meeting: Meeting) -> str:
    kind = "Together" if meeting.kind == "together from the start" else "COME TOGETHER"
    until = "on" if meeting.until_s is None else f"to {meeting.until_s:.0f} s"
    return (
        f"{kind} from {meeting.from_s:.0f} s {until}, "
        f"at the nearest {length_text(meeting.distance_m, 'down', feet=True)}, "
        f"{meeting.first_at} and {meeting.second_at}."
    )


def both_text(found: BothRoutes) -> Iterator[str]:
    """Yield the verdict, the best pair, its contacts, and the pair without a crossing."""
    if found.missing:
        yield "NO ROUTE for one of the two."
        yield from (answer.message for answer in found.missing)
        return
    words = f"{found.verdict[0].upper()}{found.verdict[1:]}."
    yield f"{words if found.safe else f'NOT SAFE: {found.verdict}.'} {_HOME}"
    yield (
        f"Lines nearer than {length_text(found.apart_m, feet=True)} count as crossing, unless they "
        "lie side by side from the start on; the second person starts "
        f"{found.second_after_s:.0f} s later. Whether "
        "the two are in each other's way before they are at their goals is not looked at here "
        "(gripway outing does, by the clock)."
    )
    if found.best is not None:
        yield ""
        yield "Best route of each:"
        yield from _pair(found.best)
    if found.clean is not None and found.best is not None and found.best.crosses:
        yield ""
        yield (
            "The pair whose lines do not cross, "
            f"{found.clean_costs_s or 0.0:.0f} s more for both together:"
        )
        yield from _pair(found.clean)
    yield ""
    yield _proof(found)


def _proof(found: BothRoutes) -> str:
    if not found.proven:
        return (
            f"The search gave up after {counted(found.pairs_tried, 'pair')}: it is not known "
            "whether a pair without a crossing exists."
        )
    if found.best is not None and not found.best.crosses:
        return "Both are the least-time routes; nothing is faster."
    if found.clean is None:
        return (
            "Proven: no pair of routes keeps the lines apart at these places. Go one after the "
            "other along the same way from the start, or agree who goes home first."
        )
    return (
        "Proven: no faster pair keeps its lines apart at these places (pairs that lie side by "
        "side from the start all the way through one of them were not looked at)."
    )


def _pair(pair: RoutePair) -> Iterator[str]:
    for who, route in (("first", pair.first), ("second", pair.second)):
        stays = " > ".join(stay.tether_point for stay in route.stays)
        yield from _person(who, route, f"stays {stays}")
    if pair.goals_near is not None:
        yield f"  {_near(pair.goals_near)}"
    yield from (f"  {_contact(contact)}" for contact in pair.contacts)
    yield from (
        f"  CROSSING: both count on the tether staged at {point}" for point in pair.both_take
    )
    if pair.crosses:
        yield f"  {_ORDER[pair.home_order]}"


def _near(near: GoalsNear) -> str:
    where = (
        f"both are at {near.first_at} once they have come to their goals"
        if near.same_place
        else f"at their goals the two are at {near.first_at} and {near.second_at}, "
        f"{length_text(near.distance_m, 'down')} from each other, less than {near.limit_m:g} m"
    )
    return f"STOP: {where}; send one of them to another grip, or one after the other"


def _person(who: str, route: Route, tethers: str) -> Iterator[str]:
    verdict = route.verdict if route.safe else route.verdict.upper()
    yield (
        f"  {who} person: {route.start.id} to {route.goal.id}, {route.totals.seconds:.0f} s, "
        f"{route.totals.distance_m:.2f} m, {tethers}: {verdict}"
    )
    yield from (
        f"    STOP: {finding.message}" for finding in route.findings if finding.severity == "blocks"
    )


_ORDER = {
    "either": "Going home: in any order.",
    "first goes home first": "It undoes itself if the first person goes home first.",
    "second goes home first": "It undoes itself if the second person goes home first.",
    "none": "It does NOT undo itself in any order: each line lies over the other somewhere, "
    "or it is not known which.",
}

_OVER = {
    "first": "the first person's line lies over",
    "second": "the second person's line lies over",
    "both": "each lies over the other along it",
    "unknown": "who lies over is not known, both lay it at the same time",
}


def _contact(contact: LineContact) -> str:
    if contact.over is None:
        return f"Side by side from the start on, {contact.stretch_m:.1f} m."
    return (
        f"CROSSING at {contact.first_at} and {contact.second_at}, "
        f"{length_text(contact.distance_m, 'down', feet=True)} "
        f"apart, along {contact.stretch_m:.1f} m: {_OVER[contact.over]}."
    )
