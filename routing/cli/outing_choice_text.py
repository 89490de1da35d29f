"""What was chosen for an outing, as text: the order of errands, get-aheads, what to drop."""

from collections.abc import Iterator

from routing.outings.choosing.get_ahead_records import GetAheadChoice, GetAheadRow
from routing.outings.choosing.late_records import DropMiss, DropRow, TimeLost, WorthLost
from routing.outings.choosing.order_records import ErrandRow, OrderChoice
from routing.outings.told.results import clock, duration, total_said

__all__ = ["get_ahead_lines", "order_lines", "time_lost_lines"]


def get_ahead_lines(choice: GetAheadChoice | None) -> Iterator[str]:
    """Yield which get-aheads are done, which are not, and why."""
    if choice is None:
        return
    if choice.reason:
        yield f"No get-aheads chosen: {choice.reason}."
        return
    chosen = ", ".join(choice.chosen) or "none fits"
    yield f"Get-aheads chosen: {chosen}; worth {choice.worth:g}, {_proof(choice)}."
    yield from (f"  {_row(one)}" for one in choice.rows)


def _proof(choice: GetAheadChoice) -> str:
    plans = f"{choice.plans} sets planned, {choice.ruled_out} ruled out by bounds"
    if choice.proven:
        return f"proven: no other set that can be planned is worth more ({plans})"
    return f"not proven: another set might be worth up to {choice.worth_at_most:g} ({plans})"


def _row(one: GetAheadRow) -> str:
    longer = "" if one.longer_s is None else f", {_minutes(one.longer_s)}"
    if one.chosen:
        return f"{one.id} (worth {one.worth:g}): done{longer}"
    return f"{one.id} (worth {one.worth:g}): left{longer}; {one.why_not}"


def _minutes(seconds: float) -> str:
    word = "longer" if seconds >= 0 else "shorter"
    return f"makes the outing {abs(seconds) / 60:.1f} min {word}"


def time_lost_lines(lost: TimeLost) -> Iterator[str]:
    """Yield what a loss of time breaks, what is dropped for it, and by which rule."""
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


def order_lines(order: OrderChoice) -> Iterator[str]:
    """Yield the order and split of errands, and how far it is proven to be the best."""
    if order.reason:
        yield f"Nothing arranged: {order.reason}."
        return
    tried = f"{order.plans} arrangements planned, {order.opened} bounded"
    if order.total_s is None:
        yield f"NO order of the errands is clean, so they stay as planned ({tried})."
        return
    if order.proven:
        proof = f"proven: no other order and split is shorter ({tried})"
    else:
        least = "an unknown time" if order.at_least_s is None else clock(order.at_least_s)
        proof = f"not proven: another one might take {least} ({tried})"
    yield f"Errands {_gain(order)}; {proof}."
    for one in sorted(order.rows, key=lambda row: (row.pool, row.person, row.place)):
        yield f"  {_errand(one)}"


def _gain(order: OrderChoice) -> str:
    total = duration(order.total_s or 0.0)
    if not order.changed:
        return f"as planned, {total}"
    if order.total_before_s is None:
        return f"arranged anew, {total} (as planned it is not clean)"
    gained_s = order.total_before_s - (order.total_s or 0.0)
    return f"arranged anew, {total}, {gained_s / 60:.1f} min shorter than as planned"


def _errand(one: ErrandRow) -> str:
    said = f"{one.person}, {one.place}. of pool {one.pool}: {one.id}"
    if (one.person, one.place) == (one.planned_person, one.planned_place):
        return said
    return f"{said} (planned: {one.planned_person}, {one.planned_place}.)"
