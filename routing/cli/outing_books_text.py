"""Where every item and safety tether of an outing is when, as tables for people."""

from typing import Final

from routing.cli.output import print_lines
from routing.cli.tables import Column, print_table
from routing.outings.told.results import OutingAnswer, TetherChange
from routing.outings.told.times_said import clock

__all__ = ["print_books"]

_LEDGER_COLUMNS: Final = (
    Column("PET"),
    Column("item", keep=16),
    Column("is"),
    Column("where"),
    Column("by act"),
    Column("person"),
)
_TETHER_COLUMNS: Final = (
    Column("PET"),
    Column("person"),
    Column("after"),
    Column("hangs on (line out m)", keep=30),
    Column("carries m"),
)


def print_books(answer: OutingAnswer) -> None:
    """Print the item ledger, and what everybody hangs on."""
    print_lines("", "Item ledger:")
    moved = {one.item for one in answer.ledger if one.act is not None}
    print_table(
        _LEDGER_COLUMNS,
        [
            (clock(one.at_s), one.item, one.how, one.place, one.act or "", one.person or "")
            for one in answer.ledger
            if one.item in moved
        ],
    )
    print_lines("", "Safety tethers, the first hooked one first:")
    print_table(_TETHER_COLUMNS, [_tether_cells(one) for one in answer.tethers])


def _tether_cells(one: TetherChange) -> tuple[str, ...]:
    return (
        clock(one.at_s),
        one.person,
        one.act or "at first",
        ", ".join(f"{stay.tether_point} ({stay.payout_m:.1f})" for stay in one.stack),
        ", ".join(f"{length_m:.1f}" for length_m in one.carried_m),
    )
