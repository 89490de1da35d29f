"""What must be true before a payload is tied, cinched home or untied."""

from routing.outings.custody.books import Books, Done
from routing.outings.custody.custody_rules import gated, nowhere
from routing.outings.custody.hand_checks import room_on_suit

__all__ = ["check_cinch", "check_release", "check_tie"]


def check_tie(books: Books, done: Done) -> None:
    """Look whether the payload is there and the tethers are tethers, and free."""
    item, site = done.act.item or "", books.site(done)
    for one in done.act.using:
        if books.stock.planned_as(one).kind != "tether":
            books.say(
                done,
                "no-tether",
                (one, item),
                f"{item} is tied by {one}, which is no equipment tether",
                'use an item of kind = "tether"',
            )
    if item not in books.places:
        return nowhere(books, done, item)
    if not books.at_hand(item, done):
        books.say(
            done,
            "item-not-there",
            (item,),
            f"{item} is tied at {site}, but it is {books.where(item)}",
            "bring it there before",
        )
    for one in done.act.using:
        payload = next((p for p, on in sorted(books.ties.items()) if one in on), None)
        if payload is not None:
            books.say(
                done,
                "tether-used-twice",
                (one, payload),
                f"equipment tether {one} ties {item} while it is in use on {payload}",
                "take another one, or release it first",
            )
    return None


def check_cinch(books: Books, done: Done) -> None:
    """Look whether the payload is tied and nobody else holds it."""
    item = done.act.item or ""
    if item not in books.places:
        return nowhere(books, done, item)
    place = books.places[item]
    if place.how == "held":
        books.say(
            done,
            "cinched-while-held",
            (item, place.where),
            f"{item} is cinched home while {place.where} still holds it",
            "let the holder let go first: lets_go of an action, and after = [...] here",
        )
    elif not books.ties.get(item):
        books.say(
            done,
            "nothing-to-cinch",
            (item,),
            f"{item} is cinched home, but no equipment tether is on it",
            "tie it before",
        )
    elif not books.at_hand(item, done):
        books.say(
            done,
            "item-not-there",
            (item,),
            f"{item} is cinched at {books.site(done)}, but it is {books.where(item)}",
            "go where it is",
        )
    else:
        gated(books, done, item, "cinches")
    return None


def check_release(books: Books, done: Done) -> None:
    """Look whether the tethers are on the payload, and what holds it after."""
    item = done.act.item or ""
    if item not in books.places:
        return nowhere(books, done, item)
    if not books.at_hand(item, done):
        books.say(
            done,
            "item-not-there",
            (item,),
            f"{item} is untied at {books.site(done)}, but it is {books.where(item)}",
            "go where it is",
        )
    on = books.ties.get(item, [])
    for one in done.act.using:
        if one not in on:
            books.say(
                done,
                "tether-not-on-it",
                (one, item),
                f"equipment tether {one} is taken off {item}, but it is not on it",
                "name the tethers that tie it",
            )
    place = books.places[item]
    left = [one for one in on if one not in done.act.using]
    if place.how == "tied" and not left:
        books.say(
            done,
            "item-adrift",
            (item,),
            f"the last tether comes off {item} while nothing else holds it: it drifts off",
            "cinch it home, or let somebody take hold of it first",
        )
    room_on_suit(books, done, done.act.using)
    return None
