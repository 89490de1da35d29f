"""How acts are said in run sheets and steps: plain words, names with their ids."""

from routing.outings.custody.handling import Stock
from routing.outings.plan_file.acts import ACT_RULES, OFF_STRUCTURE
from routing.outings.plan_file.records import Act
from structures.model import Structure

__all__ = ["Wording"]


class Wording:
    """Names for everything in one outing."""

    def __init__(self, structure: Structure, stock: Stock) -> None:
        self.structure = structure
        self.stock = stock

    def site(self, site: str) -> str:
        """Return a site with its name."""
        element = self.structure.by_id.get(site)
        name = "" if element is None else element.name
        return f"{site} ({name})" if name and name != site else site

    def thing(self, thing: str) -> str:
        """Return an item with its name; anything else by its id."""
        if thing not in self.stock.ids:
            return thing
        name = self.stock.planned_as(thing).name or self.stock.item(thing).name
        return f"{name} ({thing})" if name and name != thing else thing

    def act(self, act: Act) -> str:
        """Return what an act is, in a few words."""
        words = ACT_RULES[act.does].words
        item = "" if act.item is None else f" {self.thing(act.item)}"
        tail = self._tail(act)
        note = f": {act.notes}" if act.notes else ""
        if act.does in {"work", "action"} and act.notes:
            return f"{act.notes}{tail}"
        return f"{words}{item}{tail}{note}"

    def act_of(self, act: Act, person: str) -> str:
        """Return what an act is from the side of one person: who gives hands over, who takes gets.

        The same as `act` where nothing goes from one person to another.
        """
        actor = act.who[0]
        if act.does == "fetch" and act.out_of in act.who:
            giver, taker = act.out_of, actor
        elif act.does == "put" and act.into in act.who:
            giver, taker = actor, act.into
        else:
            return self.act(act)
        item = self.thing(act.item or "")
        note = f": {act.notes}" if act.notes else ""
        if person != taker:
            return f"hand {item} to {taker}{note}"
        return f"receive {item} from {giver}{', hung on the suit' if act.hung else ''}{note}"

    def _tail(self, act: Act) -> str:
        parts = []
        if act.does in {"move", "carry"} and act.at is not None:
            parts.append(f" to {self.site(act.at)}" if act.does == "carry" else f" {act.at}")
        if act.out_of is not None:
            parts.append(f" out of {self.thing(act.out_of)}")
        if act.into is not None:
            given = "to" if act.into in act.who else "into"
            parts.append(f" {given} {self.thing(act.into)}")
        if act.does in {"fetch", "put", "set-up"} and act.at and not (act.into or act.out_of):
            parts.append(f" at {act.at}")
        if act.subject is not None:
            parts.append(f" {act.subject}")
        if act.attach is not None:
            parts.append(f" by {act.attach}")
        if act.using:
            parts.append(f" with {', '.join(self.thing(one) for one in act.using)}")
        if act.to is not None:
            parts.append(f" to {self.site(act.to)}")
        if act.hung:
            parts.append(", hung on the suit")
        return "".join(parts)

    def remarks(self, act: Act) -> tuple[str, ...]:
        """Return what a reader must know besides."""
        found = []
        outside = [one for one in act.who if one not in OFF_STRUCTURE]
        if act.does == "hold-still":
            found.append("HOLD STILL")
        if act.still:
            found.append(f"{', '.join(act.still)} HOLD STILL")
        if len(outside) > 1:
            found.append("together")
        if act.in_restraint:
            found.append("in a foot restraint")
        if act.does == "tie" and act.attach is None:
            found.append("tether length not checked: no attach point named")
        for said, ids in (
            ("lets go of", act.lets_go),
            ("begins:", act.sets),
            ("ends:", act.clears),
            ("get-ahead", (act.spare,)),
            ("may be dropped:", (act.may_drop,)),
        ):
            named = ", ".join(one for one in ids if one is not None)
            found += [f"{said} {named}"] if named else []
        return tuple(found)
