"""A route, or why there is none, as text for people."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from routing.paths.answers.results import HOME_NOT_LOOKED_AT, Homeward, Margins, Route, WhatIf
from routing.paths.answers.step_text import finding_lines, line_left_text, route_lines
from structures.counting import counted
from structures.units import fine_text, length_text, number_text

if TYPE_CHECKING:
    from routing.paths.no_route.answer import NoRoute

__all__ = ["no_route_answer", "route_answer"]


def route_answer(route: Route) -> Iterator[str]:
    """Yield verdict, margins and step text of a route; an unsafe one says so first."""
    yield _verdict(route)
    yield from finding_lines(route)
    yield from _margin_lines(route.margins)
    if route.homeward is not None:
        yield _homeward_line(route.homeward)
    if route.what_if is not None:
        yield from what_if_lines(route.what_if)
    yield ""
    yield from route_lines(route)


def _verdict(route: Route) -> str:
    """Return the verdict in a line, with what it leaves out."""
    unasked = route.home == "not checked"
    told = f"{HOME_NOT_LOOKED_AT} (ask with --homeward)"
    if route.safe:
        rest = f"; {told}" if unasked else ", the time home among them"
        return f"Answered and safe within the limits given{rest}."
    rest = f" {told[0].upper()}{told[1:]}." if unasked else ""
    return f"UNSAFE: do not use this route; each line with STOP below says why.{rest}"


def _margin_lines(margins: Margins) -> Iterator[str]:
    yield "Margins (@ = metres along the handrail):"
    if margins.gap is not None:
        gap = margins.gap
        yield (
            f"  largest gap {fine_text(gap.gap_m, 'up')} ({gap.from_grip} to "
            f"{gap.to_grip}), reach {fine_text(gap.reach_m)}; "
            f"this way fails below a reach of {fine_text(gap.fails_below_reach_m, 'up')} "
            f"({gap.fails_from_grip} to {gap.fails_to_grip})"
        )
    if margins.turn is not None:
        turn = margins.turn
        yield (
            f"  largest turn {turn.turn_deg:.0f} deg ({turn.from_grip} to "
            f"{turn.to_grip}), limit {turn.limit_deg:.0f} deg"
        )
    if margins.clearance is not None:
        near = margins.clearance
        against = near.solid or near.zone or "nothing near"
        yield (
            f"  tightest clearance at least {fine_text(near.clearance_m, 'down')} "
            f"beyond the corridor of {fine_text(near.corridor_radius_m)} radius, against {against} "
            f"({near.from_grip} to {near.to_grip})"
        )
    if margins.line is not None:
        line = margins.line
        yield (
            f"  largest payout {length_text(line.most_payout_m, 'up', feet=True)}, "
            f"least line left {line_left_text(line)}"
        )


def _homeward_line(home: Homeward) -> str:
    """Say where on the way the time home is longest."""
    told = {None: "", "recovered": ", every tether recovered", "left": ", tethers left outside"}
    where = f"from {home.worst_grip} (hold {home.worst_index + 1} of {len(home.holds)})"
    transfers = home.holds[home.worst_index].transfers
    if home.worst_s is None or transfers is None:
        return f"Way home: NOT KNOWN {where}{told[home.tethers]}"
    return (
        f"Way home: longest {where}, {number_text(home.worst_s, 'up', 0)} s, "
        f"{counted(transfers, 'transfer')}"
        f"{told[home.tethers]}; limit {home.limit_s:.0f} s"
    )


def what_if_lines(what: WhatIf) -> Iterator[str]:
    """Yield what would save time on a least-time route, each change by itself."""
    yield f"What would save time on the least-time route of {what.seconds:.0f} s, each alone:"
    line, transfer, point = what.more_line, what.transfer, what.tether_point
    if line is not None:
        yield f"  tethers {line.factor - 1:.0%} longer: {_saved(line.saved_s, line.seconds)}"
    if transfer is not None:
        onto = transfer.tether_point or transfer.element
        yield (
            f"  tether transfers to {onto} (at {transfer.at_grip}), which cost the most, taken as "
            f"done in no time: {_saved(transfer.saved_s, transfer.seconds)}"
        )
    if point is not None:
        where = (
            f"one more tether point, at {point.near_grip}"
            if point.near_grip is not None
            else f"a rating for tether point {point.tether_point}"
            if point.tether_point is not None
            else f"one more tether point, at the best of {point.candidates} places"
        )
        yield f"  {where}: {_saved(point.saved_s, point.seconds)}"
    yield from (f"  not tried: {one}" for one in what.not_tried)


def _saved(saved_s: float, seconds: float) -> str:
    return "saves nothing" if saved_s <= 0 else f"saves {saved_s:.1f} s, leaves {seconds:.0f} s"


def _without_lists(answer: "NoRoute") -> str:
    """Return the message without what is listed below it, so that nothing is said twice."""
    together = () if answer.together is None else (answer.together,)
    openings = (*answer.openings, *answer.unsafe_openings, *together)
    safely = " safely" if answer.unsafe_openings else ""
    said = answer.message
    for listed in (
        "".join(f"; {one.message}" for one in openings),
        f"; no single zone, closure or limit opens it{safely}",
        f"; not tried: {', '.join(answer.not_tried)}",
    ):
        said = said.replace(listed, "", 1)
    return f"{said}."


def no_route_answer(answer: "NoRoute") -> Iterator[str]:
    """Yield why there is no route, how far one gets and what would open it."""
    trip = f"{answer.start.id} to {answer.goal.id}"
    by = "".join(f" by way of {site.id}" for site in answer.via)
    why = _without_lists(answer).removeprefix(f"no route from {trip}: ")
    yield f"NO ROUTE from {trip}{by} ({answer.protocol}): {why}"
    if answer.openings:
        yield "What would open it, each alone:"
        yield from (f"  - {one.message}" for one in answer.openings)
    else:
        safely = " safely" if answer.unsafe_openings else ""
        yield f"No single change that was tried opens it{safely}."
    if answer.together is not None:
        yield "What opens it only all at once:"
        yield f"  - {answer.together.message}"
    if answer.unsafe_openings:
        yield "What would open a way that is not safe all the same, each alone:"
        yield from (f"  - {one.message}" for one in answer.unsafe_openings)
    if answer.tried:
        yield f"Tried: {', '.join(answer.tried)}."
    if answer.not_tried:
        yield f"Not tried: {', '.join(answer.not_tried)}."
