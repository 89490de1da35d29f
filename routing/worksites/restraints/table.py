"""What every body can do from every socket, as a table with one row each."""

from collections.abc import Iterable, Iterator
from typing import Final

from routing.worksites.restraints.records import WorksiteRestraint
from routing.worksites.restraints.verdict import setting_text
from structures.files.tables import Cell, table_text

__all__ = ["RESTRAINT_ROW", "restraint_csv"]

RESTRAINT_ROW: Final = (
    "worksite",
    "name",
    "verdict",
    "socket",
    "own_socket",
    "restraint",
    "rated",
    "reached",
    "body",
    "settings",
    "working",
    "setting",
    "margin_m",
    "limited_by",
    "target",
    "near",
    "fails",
    "reason",
)
"""The columns. *setting* is the best that works, else the one that is nearest to working."""


def restraint_csv(found: Iterable[WorksiteRestraint]) -> str:
    """Return the table as CSV text; see `structures.files.tables` for texts in it.

    A worksite where nothing was tried has one row, with its verdict and reason.
    """
    return table_text(RESTRAINT_ROW, [row for one in found for row in _rows(one)])


def _rows(found: WorksiteRestraint) -> Iterator[tuple[Cell, ...]]:
    head = found.worksite, found.name, found.verdict
    if not found.sockets:
        yield (*head, *[None] * (len(RESTRAINT_ROW) - len(head) - 1), found.reason)
    for socket in found.sockets:
        for body in socket.bodies:
            row = body.best[0] if body.best else body.nearest
            yield (
                *head,
                socket.socket,
                socket.own,
                socket.restraint,
                socket.rated,
                socket.reached,
                body.body,
                body.settings,
                body.working,
                None if row is None else setting_text(row),
                None if row is None else row.margin_m,
                None if row is None else row.limited_by,
                None if row is None else row.target,
                None if row is None else row.near,
                "; ".join(f"{one.check} {one.settings} of {one.of}" for one in body.fails) or None,
                found.reason,
            )
