"""How partners are fetched home, a line for each who fetches one: text, chart and pack say it."""

from collections.abc import Sequence
from math import ceil

from routing.outings.safety.safety_records import Rescue
from routing.outings.told.results import OutingAnswer
from routing.outings.told.times_said import clock, minutes_text

__all__ = ["rescue_lines"]

_NOT_ON_THE_WAY = "while the partner is on the way: NOT LOOKED AT"


def rescue_lines(answer: OutingAnswer) -> tuple[str, ...]:
    """Return for each who fetches a partner how long it takes at worst, and when there is no way.

    Ids in it may come from files.
    """
    if len(answer.people) < 2:
        return ()
    if answer.rescues is None:
        return ("Fetching the partner home: NOT LOOKED AT",)
    pairs = dict.fromkeys((one.rescuer, one.partner) for one in answer.rescues)
    if not pairs:
        return (f"Fetching the partner home: {_NOT_ON_THE_WAY}",)
    return tuple(
        _line([one for one in answer.rescues if (one.rescuer, one.partner) == pair])
        for pair in sorted(pairs)
    )


def _line(rescues: Sequence[Rescue]) -> str:
    first = rescues[0]
    known = [one for one in rescues if one.seconds is not None]
    parts = []
    if known:
        worst = max(known, key=lambda one: one.seconds or 0.0)
        late = " TOO LATE:" if worst.verdict == "too late" else ""
        parts.append(
            f"{late} at worst {minutes_text(worst.seconds or 0.0)} of {first.limit_s / 60:g} "
            f"(from {worst.partner_at} at {clock(worst.from_s)})".strip()
        )
    for verdict, word in (("no way", "NO WAY"), ("not shown", "NOT SHOWN")):
        lasts_s = sum(one.until_s - one.from_s for one in rescues if one.verdict == verdict)
        if lasts_s:
            parts.append(f"{word} for {ceil(lasts_s / 60 - 1e-6)} min")
    return f"{first.rescuer} fetches {first.partner} home: {'; '.join(parts)}; {_NOT_ON_THE_WAY}"
