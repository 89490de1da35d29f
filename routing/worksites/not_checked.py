"""What of the reach table was not checked, of how many worksites, why, and how to ask."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from routing.worksites.reach_table import ReachRow

__all__ = ["not_checked"]

_NAMES: Final = {"restraint": "foot restraint", "home": "time home"}


def not_checked(rows: Sequence[ReachRow], *, asking: str = "leave out --only") -> Iterator[str]:
    """Yield a sentence for each reason for which something was not checked.

    Parameters
    ----------
    rows
        The table.
    asking
        What to do to be told of what was left out of the whole table.
    """
    left_out = {
        name: sum(getattr(row, name) == "not checked" and _was_left_out(row) for row in rows)
        for name in _NAMES
    }
    parts = [f"{_NAMES[name]} of {count}" for name, count in left_out.items() if count]
    if parts:
        yield f"{', '.join(parts)}. These may be safe or not; {asking} to ask."
    planned = _names(row for row in rows if row.restraint == "not asked")
    if planned:
        yield (
            f"foot restraint of {planned}: on a handrail, so no socket is named to ask about. It "
            "may be safe or not; ask with: gripway restraint STRUCTURE WORKSITE. If the work is "
            "done without one, say so: without_restraint = true."
        )
    unreached = _names(row for row in rows if _has_no_way_to_time(row))
    if unreached:
        yield (
            f"time home of {unreached}: there is no way from the hatch, so none home to time; see "
            "why not."
        )


def _was_left_out(row: ReachRow) -> bool:
    return not _has_no_way_to_time(row)


def _has_no_way_to_time(row: ReachRow) -> bool:
    """Tell whether the time home was asked for, but there is no way to work it out for."""
    return row.home == "not checked" and row.way == "no route" and row.restraint != "not checked"


def _names(rows: Iterable[ReachRow]) -> str:
    """Return how many worksites and which, in order of their ids."""
    found = sorted(row.worksite for row in rows)
    return f"{len(found)} ({', '.join(found)})" if found else ""
