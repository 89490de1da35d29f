"""What must be true before an item is fetched, put down or set up."""

from routing.outings.custody.books import Books, Done
from routing.outings.custody.custody_rules import gated, held, is_inside, nowhere, restraints_at
from routing.outings.custody.hand_checks import hands_free
from routing.outings.told.times_said import clock

__all__ = ["check_fetch", "check_lay", "check_put", "check_set_up", "check_use"]


def check_fetch(books: Books, done: Done) -> None:
    """Look whether an item is where it is fetched, free, and the hands are."""
    act, item = done.act, done.act.item or ""
    if item not in books.places:
        return nowhere(books, done, item)
    place, site = books.places[item], books.site(done)
    last = books.moved.get(item)
    if last is not None and last.end_s > done.start_s + 1e-6 and last.act != act.id:
        books.say(
            done,
            "item-not-there",
            (item,),
            f"{item} is fetched, but comes there only at {clock(last.end_s)} (act {last.act})",
            f"add after = [{last.act!r}]",
        )
    elif act.out_of is not None and place.where != act.out_of:
        books.say(
            done,
            "item-not-there",
            (item, act.out_of),
            f"{item} is fetched out of {act.out_of}, but it is {books.where(item)}",
            "fetch it where it is, or bring it there before",
        )
    elif act.out_of in books.book.people and act.out_of not in act.who:
        books.say(
            done,
            "not-given",
            (item,),
            f"{item} is taken from {act.out_of}, who is not part of the act",
            f"add {act.out_of!r} to who",
        )
    elif act.out_of is None and (place.where in books.book.people or not books.at_hand(item, done)):
        books.say(
            done,
            "item-not-there",
            (item,),
            f"{item} is fetched at {site}, but it is {books.where(item)}",
            "fetch it where it is (out_of = ... for a bag), or bring it there before",
        )
    elif act.out_of is not None and not books.at_hand(item, done):
        books.say(
            done,
            "item-not-there",
            (item, act.out_of),
            f"{item} is fetched out of {act.out_of} at {site}, but that is {books.where(item)}",
            "go where it is, or bring it along",
        )
    else:
        gated(books, done, item, "fetches")
    _still_tied(books, done, item)
    hands_free(books, done, item)
    for person, restraint in sorted(books.inside.items()):
        if restraint == item:
            books.say(
                done,
                "restraint-in-use",
                (item, person),
                f"{item} is fetched while {person} is in it",
                f"let {person} get out first, and add after = [...]",
            )
            del books.inside[person]  # said once: what follows is not this mistake again
    return None


def _still_tied(books: Books, done: Done, item: str) -> None:
    place = books.places[item]
    if place.how in {"in use", "held"} or books.ties.get(item):
        by = ", ".join(books.ties.get(item, ())) or place.where
        books.say(
            done,
            "still-tied",
            (item,),
            f"{item} is fetched while it is still held by {by}",
            "release it first",
        )


def check_set_up(books: Books, done: Done) -> None:
    """Look whether it is a restraint, at hand, and the socket is free."""
    held(books, done)
    item, site = done.act.item or "", books.site(done)
    if books.stock.planned_as(item).kind != "restraint":
        books.say(
            done,
            "no-restraint",
            (item,),
            f"{item} is set up at {site}, but it is no restraint",
            'say kind = "restraint" of the item, or put it there instead',
        )
    for other in restraints_at(books, site):
        if other != item:
            books.say(
                done,
                "socket-taken",
                (item, other, site),
                f"{item} is set up at {site}, where {other} is already",
                f"take {other} away first, or use another socket",
            )


def check_lay(books: Books, done: Done) -> None:
    """Look whether it is a cable, and with who lays it."""
    held(books, done)
    item = done.act.item or ""
    if books.stock.planned_as(item).kind != "cable":
        books.say(
            done,
            "no-cable",
            (item,),
            f"{item} is laid as a cable, but it is none",
            'say kind = "cable" of the item',
        )


def check_put(books: Books, done: Done) -> None:
    """Look whether an item is at hand, and what it is put into."""
    held(books, done)
    into = done.act.into
    if into is None:
        _put_down(books, done)
    elif into in books.book.people:
        _given(books, done, into)
    else:
        _into_bag(books, done, into)


def _put_down(books: Books, done: Done) -> None:
    item, site = done.act.item or "", books.site(done)
    # Elsewhere than in a socket they are strapped down, and there is room for more than one.
    if books.stock.planned_as(item).kind != "restraint" or books.book.socket(site) is None:
        return
    for other in restraints_at(books, site):
        if other != item:
            books.say(
                done,
                "socket-taken",
                (item, other, site),
                f"{item} is put to {site}, where {other} is already",
                f"take {other} away first, or use another socket",
            )


def _given(books: Books, done: Done, person: str) -> None:
    item = done.act.item or ""
    if person not in done.act.who:
        books.say(
            done,
            "not-given",
            (item,),
            f"{item} is given to {person}, who is not part of the act",
            f"add {person!r} to who",
        )
        return
    in_hands = [one for one in books.held_by(person, "hands") if one != item]
    if in_hands:
        books.say(
            done,
            "hands-full",
            (item, *in_hands),
            f"{person} is given {item} with {', '.join(in_hands)} in the hands",
            "let them put that down first",
        )


def _into_bag(books: Books, done: Done, bag: str) -> None:
    item = done.act.item or ""
    if books.stock.planned_as(bag).bag is None or is_inside(books, bag, item):
        said = "itself" if is_inside(books, bag, item) else f"{bag}, which is no bag"
        books.say(
            done,
            "no-bag",
            (bag, item),
            f"{item} is put into {said}",
            'put it into a bag (kind = "bag" with bag = {...} under items), or put it at a site',
        )
    elif bag not in books.places:
        nowhere(books, done, bag)
    elif books.at_hand(bag, done):
        gated(books, done, bag, "uses")
    else:
        books.say(
            done,
            "bag-not-there",
            (bag, item),
            f"{item} is put into {bag} at {books.site(done)}, but that is {books.where(bag)}",
            "go where it is, or bring it along",
        )


def check_use(books: Books, done: Done) -> None:
    """Look whether what an act needs is at hand."""
    if done.act.does == "release":
        return
    tied = {one: payload for payload, on in books.ties.items() for one in on}
    for item in done.act.using:
        if item not in books.places:
            nowhere(books, done, item)
        elif done.act.does == "tie" and item in tied:
            continue  # in use twice: that is said already
        elif item in tied:
            books.say(
                done,
                "tether-used-twice",
                (item, tied[item]),
                f"{done.act.id} needs {item}, which is in use on {tied[item]}",
                "take another one, or release it first",
            )
        elif not books.at_hand(item, done):
            books.say(
                done,
                "tool-not-there",
                (item,),
                f"{done.act.id} needs {item}, but it is {books.where(item)}",
                "fetch it before, or bring it there",
            )
        else:
            gated(books, done, item, "uses")
