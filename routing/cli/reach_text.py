"""The reach table as text for people."""

from typing import Final

from routing.worksites.reach_table import ReachRow

__all__ = ["REACH_HEADS", "reach_cells"]

REACH_HEADS: Final = (
    "worksite",
    "way",
    "from hatch s",
    "tie",
    "to",
    "in series n",
    "held m",
    "seated m",
    "margin m",
    "why not",
)


def reach_cells(row: ReachRow) -> tuple[str, ...]:
    """Return the cells of one row, in the order of `REACH_HEADS`."""
    place = "" if row.handrail is None else f"{row.handrail} at {row.along_m or 0.0:.2f} m"
    return (
        row.worksite if not row.name else f"{row.worksite} {row.name}",
        row.way,
        _number(row.seconds, 0),
        row.tie,
        place,
        "" if row.tethers is None else str(row.tethers),
        _number(row.held_m, 2),
        _number(row.seated_m, 2),
        _number(row.margin_m, 2),
        "; ".join(reason for reason in (row.way_reason, row.reason) if reason),
    )


def _number(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"
