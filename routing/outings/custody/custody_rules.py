"""What several checks of custody share: an item that is not held, nowhere, or not waited for."""

from collections.abc import Iterator

from routing.outings.custody.books import Books, Done
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock

__all__ = ["bag_over", "gated", "held", "is_inside", "nowhere", "restraints_at"]


def gated(books: Books, done: Done, item: str, verb: str) -> None:
    """Warn where only the clock, and no gate, sees to it that another was here before."""
    last = books.moved.get(item)
    if last is None or last.act == done.act.id:
        return
    if not books.plan.network.comes_before(last.act, done.act.id):
        books.say(
            done,
            "only-the-clock",
            (item, last.act),
            f"{done.act.id} {verb} {item} where {last.act} leaves it, but does not wait for it: "
            "if that runs late, it is not there",
            f"add after = [{last.act!r}] to act {done.act.id}",
            severity="warns",
        )


def nowhere(books: Books, done: Done, item: str) -> None:
    """Say that an item has no place."""
    books.say(
        done,
        "item-nowhere",
        (item,),
        f"nobody says where {item} is at first",
        "give it a place under items in the plan",
    )


def held(books: Books, done: Done) -> None:
    """Say it where nobody who does the act has its item."""
    item, who = done.act.item or "", done.act.who
    if item not in books.places:
        return nowhere(books, done, item)
    if books.places[item].where not in who:
        books.say(
            done,
            "item-not-held",
            (item,),
            f"{done.act.does} {item}: nobody of {', '.join(who)} has it, it is {books.where(item)}",
            "fetch it before, and do not put it down on the way",
        )
    return None


def restraints_at(books: Books, site: str) -> Iterator[str]:
    """Yield the restraints at a site, in id order."""
    for item, place in sorted(books.places.items()):
        if books.stock.planned_as(item).kind == "restraint" and books.book.same(place.where, site):
            yield item


def bag_over(books: Books, bag: str, done: Done | None) -> list[OutingFinding]:
    """Return what is wrong with the load of a bag."""
    rule = books.stock.planned_as(bag).bag
    if rule is None:
        return []
    inside = [one for one, place in sorted(books.places.items()) if place.where == bag]
    volume_l = sum(books.stock.volume_l(one) for one in inside)
    found = []
    for code, value, limit, unit, words in (
        ("bag-over-count", float(len(inside)), float(rule.most_items), "1", "items"),
        ("bag-over-volume", volume_l, rule.volume_l, "l", "l"),
    ):
        if value > limit + 1e-9:
            at_s = 0.0 if done is None else done.end_s
            found.append(
                OutingFinding(
                    code=code,
                    severity="blocks",
                    act=None if done is None else done.act.id,
                    person=None if done is None else done.act.who[0],
                    at_s=at_s,
                    elements=(bag, *inside),
                    message=f"{bag} holds {value:g} {words}, {limit:g} are its most "
                    f"(at {clock(at_s)}): {', '.join(inside)}",
                    remedy="use another bag, or take something out first",
                    value=value,
                    limit=limit,
                    unit=unit,
                )
            )
    return found


def is_inside(books: Books, bag: str, item: str) -> bool:
    """Tell whether a bag is an item, or in it."""
    at, seen = bag, set[str]()
    while at != item and at in books.places and at not in seen:
        seen.add(at)
        at = books.places[at].where
    return at == item
