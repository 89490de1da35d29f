"""What must be true about foot restraints: set up, free, got into and out of."""

from collections.abc import Iterator

from routing.outings.custody.books import Books, Done
from routing.outings.custody.custody_rules import gated, nowhere
from routing.outings.told.results import OutingFinding

__all__ = [
    "check_get_in",
    "check_get_out",
    "check_restraint_needed",
    "sockets_shared",
    "still_inside",
]


def sockets_shared(books: Books) -> Iterator[OutingFinding]:
    """Yield restraints that are at first in a socket which another one is in."""
    taken: dict[str, str] = {}
    for item, place in sorted(books.places.items()):
        socket = books.book.socket(place.where)
        if books.stock.planned_as(item).kind != "restraint" or socket is None:
            continue
        other = taken.setdefault(socket, item)
        if other != item:
            yield OutingFinding(
                code="socket-taken",
                severity="blocks",
                at_s=0.0,
                elements=(item, other, socket),
                message=f"{item} is at {socket} at first, where {other} is already: a socket "
                "takes one restraint",
                remedy="say under items where each of them really is at first",
            )


def check_get_in(books: Books, done: Done) -> None:
    """Look whether the restraint is set up here, and free."""
    item, site = done.act.item or "", books.site(done)
    place = books.places.get(item)
    if place is None:
        return nowhere(books, done, item)
    if place.how != "set up" or not books.book.within_reach(place.where, site):
        books.say(
            done,
            "restraint-not-there",
            (item, site),
            f"{done.act.who[0]} gets into {item} at {site}, but it is {books.where(item)}",
            "set it up there before",
        )
    else:
        gated(books, done, item, "uses")
    if len(done.act.who) > 1:
        books.say(
            done,
            "restraint-in-use",
            (item, *done.act.who),
            f"{' and '.join(done.act.who)} get into {item} together, and it holds one",
            "use a restraint for each, in acts of their own",
        )
    for person, other in sorted(books.inside.items()):
        if other == item and person not in done.act.who:
            books.say(
                done,
                "restraint-in-use",
                (item, person),
                f"{done.act.who[0]} gets into {item} while {person} is in it",
                "use another restraint, or let them get out first",
            )
        if person in done.act.who:
            books.say(
                done,
                "in-restraint-already",
                (item, other),
                f"{person} gets into {item} out of {other} without getting out",
                "add a get-out before",
            )
    return None


def check_get_out(books: Books, done: Done) -> None:
    """Look whether the person is in this restraint."""
    for person in done.act.who:
        if books.inside.get(person) != done.act.item:
            books.say(
                done,
                "not-in-restraint",
                (done.act.item or "", person),
                f"{person} gets out of {done.act.item}, but is in "
                f"{books.inside.get(person, 'no restraint')}",
                "take the act off, or get in before",
            )


def still_inside(books: Books) -> Iterator[OutingFinding]:
    """Yield people who never get out of a restraint."""
    for person, restraint in sorted(books.inside.items()):
        yield OutingFinding(
            code="ends-in-restraint",
            severity="blocks",
            act=books.plan.acts_of(person)[-1].id,
            person=person,
            elements=(restraint,),
            message=f"{person} is in {restraint} to the end and never gets out",
            remedy="add a get-out",
        )


def check_restraint_needed(books: Books, done: Done) -> None:
    """Look whether who must work from a restraint is in one."""
    if not done.act.in_restraint:
        return
    for person in done.act.who:
        if person not in books.inside:
            books.say(
                done,
                "not-in-restraint",
                (person,),
                f"{done.act.id} must be done from a foot restraint, and {person} is in none",
                "set one up and get in before, or take in_restraint off",
            )
