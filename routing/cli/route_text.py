"""A route, or why there is none, as text for people."""

from collections.abc import Iterator

from routing.paths.no_route import NoRoute
from routing.paths.results import Margins, Route
from routing.paths.steps import one_line, route_text

__all__ = ["no_route_answer", "route_answer"]


def route_answer(route: Route) -> str:
    """Return verdict, step text and margins of a route; an unsafe one says so first."""
    verdict = (
        "Answered and safe within the limits given."
        if route.safe
        else "UNSAFE: do not use this route; each line with STOP below says why."
    )
    return "\n".join((verdict, *_margin_lines(route.margins), "", route_text(route))) + "\n"


def _margin_lines(margins: Margins) -> Iterator[str]:
    yield "Margins:"
    if margins.gap is not None:
        gap = margins.gap
        yield (
            f"  largest gap {gap.gap_m:.3f} m ({one_line(gap.from_grip)} to "
            f"{one_line(gap.to_grip)}), reach {gap.reach_m:.3f} m; "
            f"fails below a reach of {gap.fails_below_reach_m:.3f} m"
        )
    if margins.turn is not None:
        turn = margins.turn
        yield (
            f"  largest turn {turn.turn_deg:.0f} deg ({one_line(turn.from_grip)} to "
            f"{one_line(turn.to_grip)}), limit {turn.limit_deg:.0f} deg"
        )
    if margins.clearance is not None:
        near = margins.clearance
        against = near.solid or near.zone or "nothing near"
        yield (
            f"  tightest clearance at least {near.clearance_m:.3f} m beyond the corridor of "
            f"{near.corridor_radius_m:.3f} m radius, against {one_line(against)} "
            f"({one_line(near.from_grip)} to {one_line(near.to_grip)})"
        )
    if margins.line is not None:
        line = margins.line
        yield (
            f"  largest payout {line.most_payout_m:.2f} m, least line left "
            f"{line.least_left_m:.2f} m at {one_line(line.worst_grip)}, "
            f"reserve {line.reserve_m:.2f} m"
        )


def no_route_answer(answer: NoRoute) -> str:
    """Return why there is no route, how far one gets and what would open it."""
    trip = f"{one_line(answer.start.id)} to {one_line(answer.goal.id)}"
    lines = [
        f"NO ROUTE from {trip} ({answer.protocol}): {answer.why}.",
        one_line(answer.message),
    ]
    if answer.closest is not None:
        lines.append(
            f"Closest grip reached: {one_line(answer.closest.grip)}, "
            f"{answer.closest.distance_m:.2f} m from {one_line(answer.to_site.id)}."
        )
    if answer.openings:
        lines.append("What would open it, each alone:")
        lines += [f"  - {one_line(one.message)}" for one in answer.openings]
    else:
        lines.append("No single change that was tried opens it.")
    if answer.tried:
        lines.append(f"Tried: {', '.join(one_line(one) for one in answer.tried)}.")
    if answer.not_tried:
        lines.append(f"Not tried: {', '.join(one_line(one) for one in answer.not_tried)}.")
    return "\n".join(lines) + "\n"
