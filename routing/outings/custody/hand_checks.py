"""What a person can have along: one load in the hands, so many things on the suit."""

from collections.abc import Iterator, Sequence
from typing import Final

from routing.outings.custody.books import Books, Done
from routing.outings.plan_file.acts import ActKind
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock

__all__ = ["check_hands", "check_suits", "hands_free", "room_on_suit"]

_TAKES_HANDS: Final[frozenset[ActKind]] = frozenset(
    {
        "set-up",
        "get-in",
        "get-out",
        "tie",
        "cinch",
        "release",
        "work",
        "photograph",
        "lay-cable",
    }
)
"""Acts that take the hands; ``fetch`` and ``put`` look at them themselves."""


def check_hands(books: Books, done: Done) -> None:
    """Say it where the hands that an act takes have something that the act does not use."""
    act = done.act
    if act.does not in _TAKES_HANDS:
        return
    for person in act.who:
        held = [one for one in books.held_by(person, "hands") if one not in {act.item, *act.using}]
        if held:
            books.say(
                done,
                "hands-full",
                (*held, person),
                f"{person} is to {act.does} with {', '.join(held)} in the hands",
                "put that down first or hang it on the suit (hung = true), or say that it is used: "
                "using = [...]",
            )


def hands_free(books: Books, done: Done, item: str) -> None:
    """Look whether there is a hand, or room on the suit, for an item that is fetched."""
    person = done.act.who[0]
    if done.act.hung:
        room_on_suit(books, done, (item,))
        return
    held = [one for one in books.held_by(person, "hands") if one != item]
    if held:
        books.say(
            done,
            "hands-full",
            (item, *held),
            f"{person} takes {item} with {', '.join(held)} in the hands",
            "put that down first, hang it on the suit (hung = true), or let the partner take it",
        )


def room_on_suit(books: Books, done: Done, items: Sequence[str]) -> None:
    """Say it where more would hang on the suit of who does the act than may."""
    person = done.act.who[0]
    hung = [one for one in books.held_by(person, "hung") if one not in items]
    most = next(one.hangs for one in books.plan.outing.people if one.id == person)
    if len(hung) + len(items) > most:
        message = (
            f"{person} hangs {', '.join(items)} on the suit beside {len(hung)} items, {most} are "
            f"allowed (at {clock(done.start_s)})"
        )
        books.findings.append(
            OutingFinding(
                code="too-many-hung",
                severity="blocks",
                act=done.act.id,
                person=person,
                at_s=done.start_s,
                elements=(*items, *hung),
                message=message,
                remedy="stow one first, or put small ones in a bag",
                value=float(len(hung) + len(items)),
                limit=float(most),
                unit="1",
            )
        )


def check_suits(books: Books) -> Iterator[OutingFinding]:
    """Yield people who have more on the suit from the start than may hang there."""
    for person in books.plan.outing.people:
        hung = books.held_by(person.id, "hung")
        if len(hung) > person.hangs:
            yield OutingFinding(
                code="too-many-hung",
                severity="blocks",
                person=person.id,
                at_s=0.0,
                elements=tuple(hung),
                message=f"{person.id} has {len(hung)} items on the suit at first, {person.hangs} "
                f"are allowed: {', '.join(hung)}",
                remedy="begin with some of them in a bag",
                value=float(len(hung)),
                limit=float(person.hangs),
                unit="1",
            )
