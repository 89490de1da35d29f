"""What was chosen for an outing, as text: get-aheads."""

from collections.abc import Iterator

from routing.outings.get_ahead_records import GetAheadChoice, GetAheadRow

__all__ = ["get_ahead_lines"]


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
