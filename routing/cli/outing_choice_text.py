"""What was chosen for an outing, as text: the order of errands and the get-aheads."""

from collections.abc import Iterator

from routing.outings.choosing.get_ahead_records import GetAheadChoice, GetAheadRow
from routing.outings.choosing.order_records import ErrandRow, OrderChoice
from routing.outings.told.times_said import clock, duration

__all__ = ["get_ahead_lines", "order_lines"]


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
