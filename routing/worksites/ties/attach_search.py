"""The chains of one attach point: the smallest, or the best place of every one."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from routing.worksites.ties.kit import Series, TetherKit
from routing.worksites.ties.measured import TiePlace
from routing.worksites.ties.search import TieSearch
from routing.worksites.ties.sights import Seeking
from routing.worksites.ties.why_no_chain import why_no_place
from structures.frames import Vector
from structures.solids.axes import Floats
from structures.solids.taut import Way

__all__ = ["AttachSearch", "Tied", "pull"]


@dataclass(frozen=True, slots=True)
class Tied:
    """A series of tethers tied at a place of a handrail."""

    series: Series
    handrail: str
    place: TiePlace
    margin_m: float
    """How far both lines are from the nearer end of its span [m]."""
    at_most_m: float
    """No place of any allowed handrail has more margin with as many tethers of this kit [m]."""


@dataclass(slots=True, eq=False)
class AttachSearch:
    """All that can be tied to one attach point.

    Parameters
    ----------
    names
        Ids of the handrails and handholds that may be used, in id order.
    search
        Their places.
    kit
        Tethers that are rated for it.
    most
        At most so many in series.
    """

    names: Sequence[str]
    search: TieSearch
    kit: TetherKit
    most: int
    _every: tuple[Tied, ...] | None = field(default=None, init=False)

    def smallest(self) -> Seeking[Tied | None]:
        """Find the chain of fewest tethers, then of the best margin, then first in the kit.

        Found to `routing.worksites.ties.best_first.TIE_WITHIN_M`: ``at_most_m`` says
        what no place exceeds.
        """
        for count in range(1, self.most + 1):
            best: Tied | None = None
            at_most_m = -np.inf
            for series in sorted(self.kit.series(count), key=lambda one: one.key):
                beat_m = -np.inf if best is None else best.margin_m
                found = yield from self.search.seek(series, beat_m)
                at_most_m = max(at_most_m, found.at_most_m)
                if found.place is not None and found.margin_m > beat_m:
                    name = self.names[found.place.rail]
                    best = Tied(series, name, found.place, found.margin_m, 0.0)
            if best is not None:
                return Tied(best.series, best.handrail, best.place, best.margin_m, at_most_m)
        return None

    def every(self) -> tuple[Tied, ...]:
        """Return every series that can be tied, each at its best place, fewest tethers first."""
        if self._every is None:
            found = []
            for series in self.tried():
                best = self.search.best(series)
                if best.place is not None:
                    name = self.names[best.place.rail]
                    found.append(Tied(series, name, best.place, best.margin_m, best.at_most_m))
            self._every = tuple(found)
        return self._every

    def tried(self) -> tuple[Series, ...]:
        """Return every series that the kit allows, fewest tethers first."""
        counts = range(1, self.most + 1)
        return tuple(
            one for count in counts for one in sorted(self.kit.series(count), key=lambda s: s.key)
        )

    def why_not(self) -> tuple[str, str | None]:
        """Return why nothing can be tied, and the handrail that comes nearest."""
        tried = self.tried()
        if not tried:
            return "the kit has no tether with a hook for a handrail", None
        return why_no_place(self.search, self.names, tried)

    def place_m(self, tied: Tied) -> Floats:
        """Return where on the handrail it is tied, shape (3,) [m]."""
        return np.array(self.search.rails.point_at(tied.place.rail, tied.place.along_m))

    def ways(self, tied: Tied) -> tuple[Way, Way]:
        """Return the lines to the held and the seated position, from the handrail on."""
        point_m = self.place_m(tied)
        held, seated = (to.way(point_m) for to in (self.search.held, self.search.seated))
        if held is None or seated is None:
            raise LookupError("a place without a line is no place to tie; this is a fault")
        return held, seated


def pull(way: Way) -> Vector:
    """Return the direction in which a line pulls at its end, shape (3,), of length 1.

    It is that of the last piece, from the payload toward the handrail.
    """
    back = way.points_m[-2] - way.points_m[-1]
    x, y, z = (back / np.sqrt(back @ back)).tolist()
    return x, y, z
