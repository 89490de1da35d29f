"""The reach table as text for people."""

from collections.abc import Iterator, Sequence
from typing import Final

from routing.cli.tables import Column
from routing.worksites.not_checked import not_checked
from routing.worksites.reach_table import ReachRow
from structures.counting import counted
from structures.units import Side, number_text

__all__ = [
    "REACH_COLUMNS",
    "REACH_KEY",
    "not_checked_lines",
    "reach_cells",
    "reach_reasons",
    "reach_verdict",
]

REACH_COLUMNS: Final = (
    Column("worksite", keep=24),
    Column("way"),
    Column("hatch s", number=True),
    Column("line spare m", number=True),
    Column("tie"),
    Column("rail@m"),
    Column("tethers", number=True),
    Column("held m", number=True),
    Column("seated m", number=True),
    Column("margin m", number=True),
    Column("restraint"),
    Column("home"),
    Column("home s", number=True),
)

REACH_KEY: Final = (
    "Key: hatch = least time there; line spare = line left above the reserve where it is least; "
    "one line = tied by one chain alone, so the payload can swing and drift toward its handrail; "
    "DRIFTS = tied by several that all pull to one side, and none keeps it from drifting there "
    "(gripway tie says which way and how far); "
    "rail@m = where the equipment tethers begin, in metres along the handrail; tethers = how many "
    "in series; held, seated = lengths they span then; margin = what is left of that; home = "
    "longest time home on the way."
)


def reach_verdict(rows: Sequence[ReachRow]) -> str:
    """Return the table in one line: how many worksites are safe, and which are not.

    A worksite of which something was not checked is never called safe.
    """
    if not rows:
        return "There are no worksites in this structure."
    bad = sorted(row.worksite for row in rows if row.failed)
    told = not_checked_lines(rows)
    whole = sum(row.safe and not row.unchecked for row in rows)
    partly = sum(not row.failed and bool(row.unchecked) for row in rows)
    asked = counted(len(rows), "worksite")
    if not bad and not partly:
        return f"Answered and safe within the limits given: {asked}."
    good = []
    if bad:
        good.append(f"NOT SAFE OR NOT REACHED: {', '.join(bad)}.")
    if whole:
        good.append(f"Safe: {whole} of {asked}.")
    if partly:
        most = asked if partly == len(rows) else f"{partly} of {asked}"
        good.append(f"Nothing unsafe in what was checked: {most}.")
    return " ".join((*good, *told))


def not_checked_lines(rows: Sequence[ReachRow]) -> tuple[str, ...]:
    """Return what was not checked, of how many worksites, and why; empty if all was."""
    return tuple(f"NOT CHECKED: {one}" for one in not_checked(rows))


def reach_cells(row: ReachRow) -> tuple[str, ...]:
    """Return the cells of one row, in the order of `REACH_COLUMNS`."""
    place = "" if row.handrail is None else f"{row.handrail}@{row.along_m or 0.0:.2f}"
    return (
        row.worksite if not row.name else f"{row.worksite} {row.name}",
        row.way,
        _number(row.seconds, "near", 0),
        _number(row.line_margin_m, "down", 2),
        row.tie_told,
        place,
        "" if row.tethers is None else str(row.tethers),
        _number(row.held_m, "up", 2),
        _number(row.seated_m, "up", 2),
        _number(row.margin_m, "down", 2),
        row.restraint,
        row.home,
        _number(row.home_s, "up", 0),
    )


def reach_reasons(rows: Sequence[ReachRow]) -> Iterator[str]:
    """Yield below the table why worksites are not safe, a line each, then remarks."""
    reasons = [
        f"{row.worksite}: {reason}"
        for row in rows
        for reason in (row.way_reason, row.reason, row.restraint_reason, row.home_reason)
        if reason
    ]
    if reasons:
        yield ""
        yield "Why not:"
        yield from (f"  {reason}" for reason in reasons)
    remarks = list(dict.fromkeys(row.restraint_remark for row in rows if row.restraint_remark))
    if remarks:
        yield ""
        yield "Foot restraints:"
        yield from (f"  {remark}" for remark in remarks)


def _number(value: float | None, side: Side, decimals: int) -> str:
    return "" if value is None else number_text(value, side, decimals)
