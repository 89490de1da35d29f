"""The time home over an outing, and how partners are fetched, as lines for people."""

from collections.abc import Iterator

from routing.outings.safety.safety_records import HomeCurve
from routing.outings.told.rescue_text import rescue_lines
from routing.outings.told.results import OutingAnswer
from routing.outings.told.times_said import clock, minutes_text

__all__ = ["home_lines"]


def home_lines(answer: OutingAnswer) -> Iterator[str]:
    """Yield a line for each person, and one for each who fetches another."""
    yield from (_home_line(one) for one in answer.home)
    yield from (f"{line}." for line in rescue_lines(answer))


def _home_line(curve: HomeCurve) -> str:
    worst, tow = curve.worst, curve.worst_tow
    unknown = ""
    if not curve.complete:
        unknown = (
            f"{curve.person} home from {clock(curve.known_until_s)} on: NOT KNOWN, because a way "
            "was not found, and by when to turn home neither. Until then, "
        )
    alone = "not known" if worst is None else _minutes(worst.home_s, worst.at_s)
    towed = "not known" if tow is None else _minutes(tow.tow_s, tow.at_s)
    return (
        f"{unknown}{curve.person} home at worst: alone {alone}, from beside the partner on with "
        f"the partner in tow {towed}; limit {curve.limit_s / 60:g} min.{_turn(curve)}"
    )


def _turn(curve: HomeCurve) -> str:
    """Say by when to turn home at the latest from where it takes longest."""
    if not curve.complete:
        return ""
    turns = [one.latest_turn_s for one in curve.points if one.latest_turn_s is not None]
    if len(turns) < len(curve.points) or not turns:
        return " The latest moment to turn home is not known everywhere."
    return f" Turning home by {clock(max(min(turns), 0.0))} is in time from everywhere on the plan."


def _minutes(seconds: float | None, at_s: float) -> str:
    long = "NO WAY" if seconds is None else minutes_text(seconds)
    return f"{long} (at {clock(at_s)})"
