"""Where every item is at every moment, and what a plan does that cannot be done.

Acts are replayed in the order in which they are done. An item changes its place
when the act is done, and must have been where the act takes it from all along.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final

from routing.outings.activity_plan import ActivityPlan
from routing.outings.handling import Change, How, Place, Stock, changes_of
from routing.outings.places import PlaceBook
from routing.outings.records import Act
from routing.outings.results import ItemMove, OutingFinding, clock
from routing.outings.translations import Leg
from structures.findings import Severity
from structures.model import Structure

__all__ = ["Custody", "Done", "keep_custody"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """One act on the clock."""

    act: Act
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Custody:
    """The ledger of all items and what was found while keeping it."""

    ledger: tuple[ItemMove, ...]
    findings: tuple[OutingFinding, ...]
    places: dict[str, Place]
    """Where each item is in the end."""
    came_inside: tuple[tuple[str, str, str], ...]
    """(act, person, restraint) of every act that somebody comes to with the feet in a restraint."""


@dataclass(frozen=True, slots=True)
class _Last:
    """The act that brought an item where it is."""

    act: str
    end_s: float


@dataclass(slots=True)
class _Books:
    """What is known while acts are being replayed."""

    plan: ActivityPlan
    stock: Stock
    book: PlaceBook
    leg: Leg
    places: dict[str, Place] = field(default_factory=dict)
    moved: dict[str, _Last] = field(default_factory=dict)
    ties: dict[str, list[str]] = field(default_factory=dict)
    """Equipment tethers on each payload."""
    inside: dict[str, str] = field(default_factory=dict)
    """The restraint that each person is in."""
    came_inside: list[tuple[str, str, str]] = field(default_factory=list)
    ledger: list[ItemMove] = field(default_factory=list)
    findings: list[OutingFinding] = field(default_factory=list)

    def site(self, done: Done) -> str:
        """Where the first person of an act is."""
        return self.leg.sites.get((done.act.id, done.act.who[0]), "")

    def say(
        self,
        done: Done,
        code: str,
        elements: Iterable[str],
        message: str,
        remedy: str,
        *,
        severity: Severity = "blocks",
    ) -> None:
        """Note a finding at the moment an act begins."""
        self.findings.append(
            OutingFinding(
                code=code,
                severity=severity,
                act=done.act.id,
                person=done.act.who[0],
                at_s=done.start_s,
                elements=tuple(elements),
                message=f"{message} (at {clock(done.start_s)})",
                remedy=remedy,
            )
        )

    def root(self, item: str) -> str:
        return self.book.root(item, self.places)

    def at_hand(self, item: str, done: Done) -> bool:
        """Tell whether an item is with who does the act, or where it is done."""
        root = self.root(item)
        return root in done.act.who or self.book.within_reach(root, self.site(done))

    def where(self, item: str) -> str:
        """Say where an item is."""
        place = self.places[item]
        root = self.root(item)
        return str(place) if root == place.where else f"{place} (with {root})"

    def held_by(self, person: str, how: How) -> list[str]:
        """Return the items that a person has in one way, in id order."""
        return [one for one, place in sorted(self.places.items()) if place == Place(person, how)]


def keep_custody(
    plan: ActivityPlan, stock: Stock, leg: Leg, done: Iterable[Done], structure: Structure
) -> Custody:
    """Replay all acts and return the ledger with everything that is wrong in it.

    Parameters
    ----------
    done
        The acts in the order in which they are done.
    """
    books = _Books(plan, stock, PlaceBook(plan.outing, structure), leg)
    _open(books)
    for one in done:
        books.came_inside += [
            (one.act.id, person, books.inside[person])
            for person in one.act.who
            if person in books.inside
        ]
        for check in _CHECKS.get(one.act.does, ()):
            check(books, one)
        _use(books, one)
        _restraint_needed(books, one)
        _apply(books, one)
    books.findings += _in_the_end(books)
    return Custody(
        ledger=tuple(books.ledger),
        findings=tuple(books.findings),
        places=dict(books.places),
        came_inside=tuple(books.came_inside),
    )


def _open(books: _Books) -> None:
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
            books.findings += _bag_over(books, item, None)


def _apply(books: _Books, done: Done) -> None:
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
        books.findings += _bag_over(books, act.into or "", done)


def _effects(books: _Books, done: Done) -> list[Change]:
    """Return what changes its place, holders and ties considered."""
    act = done.act
    changes = [one for one in changes_of(act, books.site(done)) if one.item in books.places]
    payload = act.item or ""
    if act.does == "tie" and payload in books.places:
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


def _enter(books: _Books, done: Done, change: Change) -> None:
    if books.places.get(change.item) == change.place:
        return
    books.places[change.item] = change.place
    books.moved[change.item] = _Last(done.act.id, done.end_s)
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


def _let_go(books: _Books, done: Done, item: str) -> list[Change]:
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
    _gated(books, done, item, "lets go of")
    return [Change(item, Place(site, "tied"))]


def _take_hold(books: _Books, done: Done, item: str) -> list[Change]:
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
    return [Change(item, Place(there[0], "held"))]


# --- what must be true before an act ---------------------------------------------------------


def _gated(books: _Books, done: Done, item: str, verb: str) -> None:
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


def _fetch(books: _Books, done: Done) -> None:
    act, item = done.act, done.act.item or ""
    if item not in books.places:
        return _nowhere(books, done, item)
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
    elif act.out_of is None and not books.book.within_reach(place.where, site):
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
        _gated(books, done, item, "fetches")
    _still_tied(books, done, item)
    _hands_free(books, done, item)
    for person, restraint in sorted(books.inside.items()):
        if restraint == item:
            books.say(
                done,
                "restraint-in-use",
                (item, person),
                f"{item} is fetched while {person} is in it",
                f"let {person} get out first, and add after = [...]",
            )
    return None


def _nowhere(books: _Books, done: Done, item: str) -> None:
    books.say(
        done,
        "item-nowhere",
        (item,),
        f"nobody says where {item} is at first",
        "give it a place under items in the plan",
    )


def _still_tied(books: _Books, done: Done, item: str) -> None:
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


def _hands_free(books: _Books, done: Done, item: str) -> None:
    act, person = done.act, done.act.who[0]
    if act.hung:
        hung = [one for one in books.held_by(person, "hung") if one != item]
        most = next(one.hangs for one in books.plan.outing.people if one.id == person)
        if len(hung) >= most:
            books.say(
                done,
                "too-many-hung",
                (item, *hung),
                f"{person} hangs {item} on the suit beside {len(hung)} items, {most} are allowed",
                "stow one first, or put small ones in a bag",
            )
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


def _held(books: _Books, done: Done) -> None:
    item, who = done.act.item or "", done.act.who
    if item not in books.places:
        return _nowhere(books, done, item)
    if books.places[item].where not in who:
        books.say(
            done,
            "item-not-held",
            (item,),
            f"{done.act.does} {item}: nobody of {', '.join(who)} has it, it is {books.where(item)}",
            "fetch it before, and do not put it down on the way",
        )
    return None


def _set_up(books: _Books, done: Done) -> None:
    _held(books, done)
    item, site = done.act.item or "", books.site(done)
    if books.stock.planned_as(item).kind != "restraint":
        books.say(
            done,
            "no-restraint",
            (item,),
            f"{item} is set up at {site}, but it is no restraint",
            'say kind = "restraint" of the item, or put it there instead',
        )
    for other in _restraints_at(books, site):
        if other != item:
            books.say(
                done,
                "socket-taken",
                (item, other, site),
                f"{item} is set up at {site}, where {other} is already",
                f"take {other} away first, or use another socket",
            )


def _put(books: _Books, done: Done) -> None:
    _held(books, done)
    act, site = done.act, books.site(done)
    into = act.into
    if into is None:
        restraint = books.stock.planned_as(act.item or "").kind == "restraint"
        for other in _restraints_at(books, site):
            if restraint and other != act.item:
                books.say(
                    done,
                    "socket-taken",
                    (act.item or "", other, site),
                    f"{act.item} is put to {site}, where {other} is already",
                    f"take {other} away first, or use another socket",
                )
    elif into in books.book.people and into not in act.who:
        books.say(
            done,
            "not-given",
            (act.item or "",),
            f"{act.item} is given to {into}, who is not part of the act",
            f"add {into!r} to who",
        )
    elif into in books.book.people:
        held = [one for one in books.held_by(into, "hands") if one != act.item]
        if held:
            books.say(
                done,
                "hands-full",
                (act.item or "", *held),
                f"{into} is given {act.item} with {', '.join(held)} in the hands",
                "let them put that down first",
            )
    elif into in books.places and not books.at_hand(into, done):
        books.say(
            done,
            "bag-not-there",
            (into, act.item or ""),
            f"{act.item} is put into {into} at {site}, but that is {books.where(into)}",
            "go where it is, or bring it along",
        )


def _restraints_at(books: _Books, site: str) -> Iterator[str]:
    for item, place in sorted(books.places.items()):
        if books.stock.planned_as(item).kind == "restraint" and books.book.same(place.where, site):
            yield item


def _bag_over(books: _Books, bag: str, done: Done | None) -> list[OutingFinding]:
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


def _get_in(books: _Books, done: Done) -> None:
    item, site = done.act.item or "", books.site(done)
    place = books.places.get(item)
    if place is None:
        return _nowhere(books, done, item)
    if place.how != "set up" or not books.book.within_reach(place.where, site):
        books.say(
            done,
            "restraint-not-there",
            (item, site),
            f"{done.act.who[0]} gets into {item} at {site}, but it is {books.where(item)}",
            "set it up there before",
        )
    else:
        _gated(books, done, item, "uses")
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


def _get_out(books: _Books, done: Done) -> None:
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


def _tie(books: _Books, done: Done) -> None:
    item, site = done.act.item or "", books.site(done)
    if item not in books.places:
        return _nowhere(books, done, item)
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


def _cinch(books: _Books, done: Done) -> None:
    item = done.act.item or ""
    if item not in books.places:
        return _nowhere(books, done, item)
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
        _gated(books, done, item, "cinches")
    return None


def _release(books: _Books, done: Done) -> None:
    item = done.act.item or ""
    if item not in books.places:
        return _nowhere(books, done, item)
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
    return None


def _carry(books: _Books, done: Done) -> None:
    _held(books, done)


_Check = Callable[[_Books, Done], None]
_CHECKS: Final[dict[str, tuple[_Check, ...]]] = {
    "fetch": (_fetch,),
    "put": (_put,),
    "carry": (_carry,),
    "set-up": (_set_up,),
    "get-in": (_get_in,),
    "get-out": (_get_out,),
    "tie": (_tie,),
    "cinch": (_cinch,),
    "release": (_release,),
    "lay-cable": (_held,),
}


def _use(books: _Books, done: Done) -> None:
    """Look whether what an act needs is at hand."""
    if done.act.does == "release":
        return
    for item in done.act.using:
        if item not in books.places:
            _nowhere(books, done, item)
        elif not books.at_hand(item, done):
            books.say(
                done,
                "tool-not-there",
                (item,),
                f"{done.act.id} needs {item}, but it is {books.where(item)}",
                "fetch it before, or bring it there",
            )


def _restraint_needed(books: _Books, done: Done) -> None:
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


def _in_the_end(books: _Books) -> Iterator[OutingFinding]:
    for item in books.stock.ids:
        planned, first = books.stock.planned_as(item), books.stock.first_place(item)
        if item not in books.places or planned.ends_anywhere or first is None:
            continue
        belongs = planned.ends_at or first.where
        place, last = books.places[item], books.moved.get(item)
        if last is None and planned.ends_at is None:
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
