"""What graphs of one structure tell each other: where there is room for a body, and where not.

The room of a body ball whose skin touches the hands never grows with its radius, as
long as people lean alike (`structures.solids.sweep.sweep_verdicts`). So where a large
body stands upright a smaller one does; a way that is clear for a large body past some
shapes is clear for a smaller one past no others; and one that is not is not for a
larger one either. Only what is certain whatever the rounding is told, so that graphs
are the same to the last bit however many were built before.
"""

import numpy as np

from routing.graph.grips import Places
from routing.graph.reach_graph import Flags, Floats, Indices
from structures.frozen import frozen

__all__ = ["KnownBody", "KnownRoom", "KnownWays"]

_KINDS = 8
"""More than there are kinds of ways: room for the kind in a way's number."""

_PLACES = 1 << 28
"""More than there can be places; the number of a way with its kind stays inside 64 bits."""

_NONE: Indices = np.empty(0, dtype=np.int64)


@frozen(eq=False)
class _Body:
    """Whom something is known of: how large, how people lean, past which shapes."""

    radius_m: float
    lean_at: Floats
    """By place, shape (places, 3); NaN where this body has no grip."""
    shapes: frozenset[str]

    def holds_for_smaller(self, other: "_Body") -> bool:
        return other.radius_m <= self.radius_m and other.shapes <= self.shapes

    def holds_for_larger(self, other: "_Body") -> bool:
        return other.radius_m >= self.radius_m and other.shapes >= self.shapes


class KnownWays:
    """Ways of one body: what is known beforehand, and what is found out.

    Parameters
    ----------
    body
        Whose ways.
    place
        Place of each of its grips, shape (n,).
    clear, barred
        Numbers of the ways known beforehand, ascending.
    """

    def __init__(self, body: _Body, place: Indices, clear: Indices, barred: Indices) -> None:
        self.body = body
        self._place = place
        self._clear = clear
        self._barred = barred
        self._smaller: list[Indices] = [_NONE]
        self._larger: list[Indices] = [_NONE]

    def pairs(self, first: Indices, second: Indices) -> Indices:
        """Return the number of each pair of grips."""
        return self._place[first] * _PLACES + self._place[second]

    def told(self, pair: Indices, kind: Indices) -> tuple[Flags, Flags]:
        """Return which ways are known to be clear, and which not to be; often neither.

        Parameters
        ----------
        pair
            As `pairs` numbers them, shape (p,).
        kind
            As in `routing.graph.ways.Ways`, shape (p,).
        """
        number = pair * _KINDS + kind
        return _among(self._clear, number), _among(self._barred, number)

    def keep(self, pair: Indices, kind: Indices, smaller: Flags, larger: Flags) -> None:
        """Take in ways that are clear for every smaller body, or barred for every larger one."""
        number = pair * _KINDS + kind
        self._smaller.append(number[smaller])
        self._larger.append(number[larger])

    def clear_for(self, body: _Body) -> Indices:
        """Return the numbers of ways of another body that are clear because they are for this."""
        return self._alike(self._smaller, body) if self.body.holds_for_smaller(body) else _NONE

    def barred_for(self, body: _Body) -> Indices:
        """Return the numbers of ways of another body that are barred because they are for this."""
        return self._alike(self._larger, body) if self.body.holds_for_larger(body) else _NONE

    def _alike(self, found: list[Indices], body: _Body) -> Indices:
        """Return the ways at whose both ends two bodies lean alike."""
        number = np.concatenate(found)
        # Places are only ever added, so this body may know of fewer of them.
        mine = self.body.lean_at
        alike = (mine == body.lean_at[: len(mine)]).all(axis=1)
        first, second = np.divmod(number // _KINDS, _PLACES)
        between: Indices = number[alike[first] & alike[second]]
        return between


class KnownRoom:
    """What has been found out of one structure for all bodies so far."""

    def __init__(self) -> None:
        self.ways: list[KnownWays] = []
        self.upright_m: Floats = np.empty(0)
        """By place, the radius of the largest body known to stand upright there [m]."""
        self.tight_m: Floats = np.empty(0)
        """By place, the radius of the smallest body known not to have room for that [m]."""
        self._numbers: dict[bytes, int] = {}
        self._places: dict[Places, Indices] = {}

    def of(self, places: Places, radius_m: float) -> "KnownBody":
        """Return what is known of a body with such a radius [m] at the places of some grips."""
        if places not in self._places:
            self._places[places] = self._number(places)
        return KnownBody(self, self._places[places], radius_m)

    def _number(self, places: Places) -> Indices:
        """Return a number for each place, told apart by all that leans depend on but the body."""
        rows = np.concatenate([places.position_m, places.normal, places.sideways], axis=1)
        data, size = rows.tobytes(), rows.itemsize * rows.shape[1]
        numbers = self._numbers
        found = [
            numbers.setdefault(data[i : i + size], len(numbers)) for i in range(0, len(data), size)
        ]
        more = len(numbers) - len(self.upright_m)
        self.upright_m = np.concatenate([self.upright_m, np.full(more, -np.inf)])
        self.tight_m = np.concatenate([self.tight_m, np.full(more, np.inf)])
        return np.array(found, dtype=np.int64)


class KnownBody:
    """What is known of one body at its grips.

    Parameters
    ----------
    room
        Where it is from, and where what is found out goes.
    place
        Number of the place of each grip, shape (n,).
    radius_m
        Of the body ball [m].
    """

    def __init__(self, room: KnownRoom, place: Indices, radius_m: float) -> None:
        self._room = room
        self._place = place
        self._radius_m = radius_m

    def stance(self) -> tuple[Flags, Flags]:
        """Tell where it is known to have room to stand upright, and where not, whatever the zones.

        Of shape (n,) each; often neither is known.
        """
        room, radius_m = self._room, self._radius_m
        return room.upright_m[self._place] >= radius_m, room.tight_m[self._place] <= radius_m

    def keep_stance(self, upright: Flags, tight: Flags) -> None:
        """Take in where it, and so every smaller one, has that room, and where no larger one."""
        room, radius_m = self._room, self._radius_m
        np.maximum.at(room.upright_m, self._place[upright], radius_m)
        np.minimum.at(room.tight_m, self._place[tight], radius_m)

    def ways(self, lean: Floats, shapes: tuple[str, ...]) -> KnownWays:
        """Return what is known of its ways, ready to take in more.

        Parameters
        ----------
        lean
            Its unit direction at each grip, shape (n, 3).
        shapes
            Ids of all that it must keep clear of.
        """
        lean_at = np.full((len(self._room.upright_m), 3), np.nan)
        lean_at[self._place] = lean
        body = _Body(self._radius_m, lean_at, frozenset(shapes))
        before = self._room.ways
        clear = np.concatenate([_NONE, *(known.clear_for(body) for known in before)])
        barred = np.concatenate([_NONE, *(known.barred_for(body) for known in before)])
        now = KnownWays(body, self._place, np.sort(clear), np.sort(barred))
        before.append(now)
        return now


def _among(ascending: Indices, number: Indices) -> Flags:
    """Tell which numbers are among others."""
    if not len(ascending):
        return np.zeros(len(number), dtype=bool)
    at = np.minimum(np.searchsorted(ascending, number), len(ascending) - 1)
    found: Flags = ascending[at] == number
    return found
