"""Which sites are the same place, and where an item is at last, bags and hands included."""

from collections.abc import Mapping

from routing.outings.custody.handling import Place
from routing.outings.plan_file.records import Outing
from structures.elements import Handrail, Socket, Worksite
from structures.model import Structure

__all__ = ["PlaceBook"]


class PlaceBook:
    """Compares places of one outing."""

    def __init__(self, outing: Outing, structure: Structure) -> None:
        self.structure = structure
        self.people = frozenset(one.id for one in outing.people)
        self.holder_at = {one.id: one.at for one in outing.holders}

    def same(self, one: str, other: str) -> bool:
        """Tell whether two places are one: a worksite is at its socket."""
        return self._ground(one) == self._ground(other)

    def within_reach(self, place: str, site: str) -> bool:
        """Tell whether who is at a site is at a place.

        At a worksite on a handrail one is at that handrail too; who is somewhere
        on a handrail is not for certain at a worksite of it.
        """
        return self.same(place, site) or self._on(site) == place

    def socket(self, site: str) -> str | None:
        """Return the socket that a place is, or that a worksite is at; None if it is none."""
        ground = self._ground(site)
        return ground if isinstance(self.structure.by_id.get(ground), Socket) else None

    def _ground(self, site: str) -> str:
        element = self.structure.by_id.get(site)
        if isinstance(element, Worksite) and element.socket is not None:
            return element.socket
        return site

    def _on(self, site: str) -> str | None:
        element = self.structure.by_id.get(site)
        if isinstance(element, Worksite):
            return element.handrail
        rail = site.rpartition("@")[0]
        return rail if isinstance(self.structure.by_id.get(rail), Handrail) else None

    def root(self, item: str, places: Mapping[str, Place]) -> str:
        """Return the site or person at which an item is at last: in a bag, that of the bag."""
        seen = {item}
        at = places[item].where
        while at in places and at not in seen:
            seen.add(at)
            at = places[at].where
        return self.holder_at.get(at, at)
