"""The answer of `gripway bags`: its record, and as text for people."""

from collections.abc import Iterator
from typing import Final, Literal

from routing.cli.answers import AnswerHead
from routing.cli.tables import Column
from routing.paths.answers.results import Protocol
from routing.worksites.bags.near_worksite import BagAnswer, BagPlace
from structures.units import number_text

__all__ = ["BAG_COLUMNS", "BagsAnswer", "bag_cells", "bag_head", "bag_reasons"]

BAG_COLUMNS: Final = (
    Column("rank", number=True),
    Column("rail@m"),
    Column("reach m", number=True),
    Column("to spare m", number=True),
    Column("room m", number=True),
    Column("tightest to"),
)


class BagsAnswer(AnswerHead):
    """The answer of `gripway bags`."""

    answer: Literal["bags"] = "bags"
    protocol: Protocol
    """How people stay tethered on the way to the worksite; always leapfrog."""
    safe: bool
    """Whether there is a place, and the routes to keep clear of are there and safe. The time home
    is not looked at."""
    remarks: tuple[str, ...] = ()
    """On the routes asked for."""
    bags: BagAnswer


def bag_head(found: BagAnswer) -> str:
    """Return the answer in one line."""
    if found.reason:
        return f"{found.item} at {found.worksite}: NO PLACE. {found.reason}."
    if not found.places:
        return f"{found.item} at {found.worksite}: NO PLACE to tie it within reach."
    many = len(found.places)
    return (
        f"{found.item} at {found.worksite}: {many} handrail{'' if many == 1 else 's'} to tie it to."
    )


def bag_cells(rank: int, place: BagPlace) -> tuple[str, ...]:
    """Return the cells of one row, in the order of `BAG_COLUMNS`."""
    return (
        str(rank),
        f"{place.handrail}@{place.along_m:.2f}",
        number_text(place.reach_m, "up", 2),
        number_text(place.reach_margin_m, "down", 2),
        "" if place.room_m is None else number_text(place.room_m, "down", 2),
        place.tightest or "",
    )


def bag_reasons(found: BagAnswer) -> Iterator[str]:
    """Yield why the other handrails near by, or all of them, do not serve."""
    if found.others:
        if found.places:
            yield ""
        yield "Why not the others:" if found.places else "Why not the handrails near by:"
    for one in found.others:
        where = one.handrail if one.along_m is None else f"{one.handrail}@{one.along_m:.2f}"
        yield f"  {where}: {one.reason}"
