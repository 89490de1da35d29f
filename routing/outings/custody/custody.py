"""Where every item is at every moment, and what a plan does that cannot be done.

Acts are replayed in the order in which they are done. An item changes its place
when the act is done, and must have been where the act takes it from all along.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from routing.outings.clock.activity_plan import ActivityPlan
from routing.outings.custody.books import Books, Done, Last
from routing.outings.custody.custody_rules import bag_over, gated, held, is_inside
from routing.outings.custody.hand_checks import check_hands, check_suits
from routing.outings.custody.handling import Change, Place, Stock, changes_of
from routing.outings.custody.item_checks import (
    check_fetch,
    check_lay,
    check_put,
    check_set_up,
    check_use,
)
from routing.outings.custody.payload_checks import check_cinch, check_release, check_tie
from routing.outings.custody.places import PlaceBook
from routing.outings.custody.restraint_checks import (
    check_get_in,
    check_get_out,
    check_restraint_needed,
    sockets_shared,
    still_inside,
)
from routing.outings.told.results import ItemMove, OutingFinding
from routing.outings.translations import Leg
from structures.model import Structure

__all__ = ["Custody", "keep_custody"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Custody:
    """The ledger of all items and what was found while keeping it."""

    ledger: tuple[ItemMove, ...]
    findings: tuple[OutingFinding, ...]
    places: dict[str, Place]
    """Where each item is in the end."""
    came_inside: tuple[tuple[str, str, str], ...]
    """(act, person, restraint) of every act that somebody comes to with the feet in a restraint."""


_Check = Callable[[Books, Done], None]
_CHECKS: Final[dict[str, _Check]] = {
    "fetch": check_fetch,
    "put": check_put,
    "carry": held,
    "set-up": check_set_up,
    "get-in": check_get_in,
    "get-out": check_get_out,
    "tie": check_tie,
    "cinch": check_cinch,
    "release": check_release,
    "lay-cable": check_lay,
}


def keep_custody(
    plan: ActivityPlan, stock: Stock, leg: Leg, done: Iterable[Done], structure: Structure
) -> Custody:
    """Replay all acts and return the ledger with everything that is wrong in it.

    Parameters
    ----------
    done
        The acts in the order in which they are done.
    """
    books = Books(plan, stock, PlaceBook(plan.outing, structure), leg)
    _open(books)
    for one in done:
        books.came_inside += [
            (one.act.id, person, books.inside[person])
            for person in one.act.who
            if person in books.inside
        ]
        if one.act.does in _CHECKS:
            _CHECKS[one.act.does](books, one)
        check_use(books, one)
        check_restraint_needed(books, one)
        check_hands(books, one)
        _apply(books, one)
    books.findings += _in_the_end(books)
    books.findings += still_inside(books)
    return Custody(
        ledger=tuple(books.ledger),
        findings=tuple(books.findings),
        places=dict(books.places),
        came_inside=tuple(books.came_inside),
    )


def _open(books: Books) -> None:
    """Enter where everything is at first."""
    for item in books.stock.ids:
        place = books.stock.first_place(item)
        if place is None:
            continue
        if place.where in books.book.people:
            place = Place(place.where, "hung")
        elif place.where in books.book.holder_at:
            place = Place(place.where, "held")
        books.places[item] = place
        books.ledger.append(ItemMove(at_s=0.0, item=item, place=place.where, how=place.how))
    for item in books.stock.ids:
        if books.stock.planned_as(item).bag is not None:
            books.findings += bag_over(books, item, None)
    books.findings += check_suits(books)
    books.findings += sockets_shared(books)


def _apply(books: Books, done: Done) -> None:
    """Let an act bring items where it brings them, and people into restraints and out."""
    act = done.act
    for change in _effects(books, done):
        _enter(books, done, change)
    if act.does == "get-in" and act.item is not None:
        books.inside |= dict.fromkeys(act.who, act.item)
    if act.does == "get-out":
        for person in act.who:
            books.inside.pop(person, None)
    if act.does == "put" and act.into in books.places:
        books.findings += bag_over(books, act.into or "", done)


def _effects(books: Books, done: Done) -> list[Change]:
    """Return what changes its place, holders and ties considered."""
    act = done.act
    changes = [
        one
        for one in changes_of(act, books.site(done))
        # An item that goes into itself stays where it is: that it cannot is said already.
        if one.item in books.places and not is_inside(books, one.place.where, one.item)
    ]
    payload = act.item or ""
    if act.does == "tie" and payload in books.places:
        for other, on in books.ties.items():
            books.ties[other] = [one for one in on if one not in act.using]
        books.ties.setdefault(payload, []).extend(act.using)
        if books.places[payload].how == "held":
            changes = [one for one in changes if one.item != payload]
    if act.does == "release":
        left = [one for one in books.ties.get(payload, ()) if one not in act.using]
        books.ties[payload] = left
    for item in act.lets_go:
        changes += _let_go(books, done, item)
    for item in act.holds:
        changes += _take_hold(books, done, item)
    return changes


def _enter(books: Books, done: Done, change: Change) -> None:
    if books.places.get(change.item) == change.place:
        return
    books.places[change.item] = change.place
    books.moved[change.item] = Last(done.act.id, done.end_s)
    books.ledger.append(
        ItemMove(
            at_s=done.end_s,
            item=change.item,
            act=done.act.id,
            person=done.act.who[0],
            place=change.place.where,
            how=change.place.how,
        )
    )


def _let_go(books: Books, done: Done, item: str) -> list[Change]:
    place = books.places[item]
    if place.how != "held":
        books.say(
            done,
            "not-held-by-holder",
            (item,),
            f"{item} is to be let go of, but it is {books.where(item)}",
            "let go of what a holder holds, or take it off lets_go",
        )
        return []
    site = books.book.holder_at[place.where]
    if not books.ties.get(item):
        books.say(
            done,
            "item-adrift",
            (item, place.where),
            f"{place.where} lets go of {item} while no equipment tether holds it: it drifts off",
            "tie it before, and let this action come after the tie",
        )
        return [Change(item, Place(site, "adrift"))]
    gated(books, done, item, "lets go of")
    return [Change(item, Place(site, "tied"))]


def _take_hold(books: Books, done: Done, item: str) -> list[Change]:
    root = books.root(item)
    there = [one for one, at in books.book.holder_at.items() if books.book.same(at, root)]
    if not there:
        books.say(
            done,
            "nothing-to-hold-it",
            (item,),
            f"{item} is to be held, but it is {books.where(item)} and no holder is there",
            "bring it to the site of a holder first",
        )
        return []
    free = [one for one in there if not _holds(books, one, item)]
    if not free:
        has = [other for one in there for other in _holds(books, one, item)]
        books.say(
            done,
            "holder-in-use",
            (item, *there),
            f"{item} is to be held, but {', '.join(there)} holds {', '.join(has)}",
            "let go of that first",
        )
    return [Change(item, Place((free or there)[0], "held"))]


def _holds(books: Books, holder: str, item: str) -> list[str]:
    return [one for one in books.held_by(holder, "held") if one != item]


def _left_out_with(books: Books, item: str) -> list[str]:
    """Return the acts left out of the plan that would have moved an item."""
    planned = {act.id for act in books.plan.acts}
    return [
        act.id
        for act in books.plan.outing.acts
        if act.id not in planned and any(one.item == item for one in changes_of(act, act.at or ""))
    ]


def _in_the_end(books: Books) -> Iterator[OutingFinding]:
    for item in books.stock.ids:
        planned, first = books.stock.planned_as(item), books.stock.first_place(item)
        if item not in books.places or planned.ends_anywhere or first is None:
            continue
        belongs = planned.ends_at or first.where
        place, last = books.places[item], books.moved.get(item)
        if last is None and planned.ends_at is None:
            continue
        left_out = [] if last else _left_out_with(books, item)
        if left_out:
            yield OutingFinding(
                code="item-stays",
                severity="notes",
                elements=(item, first.where),
                message=f"{item} stays at {first.where}, because {', '.join(left_out)} "
                f"{'is' if len(left_out) == 1 else 'are'} left out",
                remedy=f"it belongs at {belongs} once that is done",
            )
            continue
        if not books.book.same(place.where, belongs):
            yield OutingFinding(
                code="item-ends-elsewhere",
                severity="blocks",
                act=None if last is None else last.act,
                at_s=None if last is None else last.end_s,
                elements=(item, belongs),
                message=f"{item} belongs at {belongs} in the end, but it is {place}",
                remedy="bring it back, or say ends_at (or ends_anywhere) under items",
            )
