"""What a loss of time breaks and what is dropped for it, as text."""

from collections.abc import Iterator

from routing.outings.choosing.late_records import DropMiss, DropRow, TimeLost, WorthLost
from routing.outings.told.times_said import clock, total_said

__all__ = ["time_lost_lines"]


def time_lost_lines(lost: TimeLost, *, groups: bool = True) -> Iterator[str]:
    """Yield what a loss of time breaks, what is dropped for it, and by which rule.

    ``groups`` adds a line for each group of acts that could be dropped.
    """
    where = f"at {lost.at}" if lost.at else "before the first act"
    yield (
        f"{lost.minutes:g} min lost {where}: {total_said(lost.total_late_s, lost.missing_late)} "
        f"with nothing dropped ({total_said(lost.total_before_s, lost.missing_before)} before)."
    )
    if lost.reason:
        yield f"Nothing looked for: {lost.reason}."
        return
    yield from (f"  broken: {one.message} ({one.code})" for one in lost.broken)
    if not lost.broken:
        yield "No limit is broken, so nothing is dropped."
        return
    yield from _dropped_lines(lost)
    if groups:
        yield from (f"  {_drop_row(one)}" for one in lost.rows)
    yield f"Rule: {lost.rule}."


def _dropped_lines(lost: TimeLost) -> Iterator[str]:
    plans = f"{lost.plans} sets planned, {lost.ruled_out} ruled out by bounds"
    if not lost.enough and lost.misses:
        known = "" if lost.proven else " was found"
        yield (
            f"IN THE WAY: {_in_the_way(lost.misses)}; there is time enough. NOTHING that may be "
            f"dropped{known} clears that ({plans}): mend what is named, or turn home in time:"
        )
        for one in lost.misses:
            yield from _miss_lines(one)
        return
    if not lost.enough:
        least = ""
        if lost.at_least_s is not None:
            least = f"; whatever goes, it takes {clock(lost.at_least_s)} at least"
        known = "" if lost.proven else " was found"
        yield (
            f"NOTHING that may be dropped{known} is enough{least} ({plans}): give up an act that "
            "must be done, or turn home."
        )
        return
    proof = (
        "proven: nothing that is enough loses less"
        if lost.proven
        else f"not proven: losing {_worth(lost.worth_lost_at_least)} might be enough"
    )
    yield (
        f"Drop {', '.join(lost.dropped)}: loses {_worth(lost.worth_lost)}, then "
        f"{total_said(lost.total_s, lost.missing)}; {proof} ({plans})."
    )


def _in_the_way(misses: tuple[DropMiss, ...]) -> str:
    """Return what blocks the sets that are in time, each once, those of the best set first."""
    broken = (one for miss in misses for one in miss.broken)
    said = (one.code if one.act is None else f"{one.code} [{one.act}]" for one in broken)
    return ", ".join(dict.fromkeys(said))


def _miss_lines(miss: DropMiss) -> Iterator[str]:
    but = "would be enough but for" if miss.lines_only else "is in time, but"
    what = f"dropping {', '.join(miss.dropped)}" if miss.dropped else "dropping nothing"
    total = total_said(miss.total_s, miss.ways_missing)
    yield f"  {what} (loses {_worth(miss.worth_lost)}; {total}) {but}:"
    yield from (f"    {one.message} ({one.code})" for one in miss.broken)
    if miss.lines_only:
        yield (
            "    other places, waits or ways may clear that; for a plan without these acts "
            "--clear-lines looks for them"
        )


def _worth(worth: WorthLost) -> str:
    return f"worth {worth.may_drop:g} of what may be dropped and {worth.get_aheads:g} of get-aheads"


def _drop_row(one: DropRow) -> str:
    verdict = "dropped" if one.dropped else "has begun" if one.begun else "stays"
    return f"{one.id} ({one.kind}, worth {one.worth:g}; {', '.join(one.acts)}): {verdict}"
