"""The books of an outing while its acts are being replayed: where everything and everybody is."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from routing.outings.clock.activity_plan import ActivityPlan
from routing.outings.custody.handling import How, Place, Stock
from routing.outings.custody.places import PlaceBook
from routing.outings.plan_file.records import Act
from routing.outings.told.results import ItemMove, OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Leg
from structures.findings import Severity

__all__ = ["Books", "Done", "Last"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """One act on the clock."""

    act: Act
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Last:
    """The act that brought an item where it is."""

    act: str
    end_s: float


@dataclass(slots=True)
class Books:
    """What is known while acts are being replayed."""

    plan: ActivityPlan
    stock: Stock
    book: PlaceBook
    leg: Leg
    places: dict[str, Place] = field(default_factory=dict)
    moved: dict[str, Last] = field(default_factory=dict)
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
        """Return the site or person at which an item is at last."""
        return self.book.root(item, self.places)

    def at_hand(self, item: str, done: Done) -> bool:
        """Tell whether an item is with who does the act, or where it is done."""
        root, site = self.root(item), self.site(done)
        return root in done.act.who or any(
            self.book.within_reach(one, site) for one in self._spanned(item, root)
        )

    def _spanned(self, item: str, root: str) -> tuple[str, ...]:
        """Return all sites from which an item at one of them can be worked on."""
        spans = self.stock.planned_as(item).spans
        there = any(self.book.same(root, one) for one in spans)
        return (root, *spans) if there else (root,)

    def where(self, item: str) -> str:
        """Say where an item is."""
        place = self.places[item]
        root = self.root(item)
        return str(place) if root == place.where else f"{place} (with {root})"

    def held_by(self, person: str, how: How) -> list[str]:
        """Return the items that a person has in one way, in id order."""
        return [one for one, place in sorted(self.places.items()) if place == Place(person, how)]
