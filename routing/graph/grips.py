"""Grips: where hands can hold, sampled from handrails and taken from single holds.

Every rail gives its ends, its corners and samples no farther apart than the
limit; and the places where it comes nearest to another rail, handhold, hatch,
socket or tether point within reach, and those of worksites on it.

Which grips there are depends on the structure, the limits and the person, but
not on the load, on conditions or on closures: those only take grips away, so
that a grip means the same in every situation of one outing.
"""

import numpy as np
from numpy.typing import NDArray

from routing.graph.nearness import Segments, nearest_places
from routing.graph.reach_graph import Flags, Floats, GripKind, Indices
from routing.graph.situation import Situation
from structures.elements import Handhold, Handrail, Hatch, Socket, TetherPoint
from structures.frames import Vector
from structures.frozen import frozen
from structures.model import Structure
from structures.polylines import segment_gaps

__all__ = ["Places", "place_grips"]

_PER_METRE = 1000
"""Grips of a rail that round to the same millimetre are one grip."""

_KINDS: dict[type, int] = {
    Handhold: GripKind.HANDHOLD,
    Hatch: GripKind.HATCH,
    Socket: GripKind.SOCKET,
}

Single = Handhold | Hatch | Socket


@frozen(eq=False)
class Places:
    """Grips before bodies are fitted to them, n of them, in order of (element id, along)."""

    ids: tuple[str, ...]
    element_ids: tuple[str, ...]
    element: Indices
    """Rank of the element's id, shape (n,): equal means the same element."""
    kind: NDArray[np.int8]
    position_m: Floats
    normal: Floats
    along_m: Floats
    sideways: Floats
    """Where the fan of leans starts, any length, shape (n, 3): a direction fixed to the structure,
    so that a structure turned round in its frame gets the same leans."""
    tether_hook: Flags


def place_grips(structure: Structure, situation: Situation) -> Places:
    """Place the grips of all elements that are not closed in the situation.

    ``situation.closed`` must hold those closed by conditions already.
    """
    rails = sorted(structure.handrails, key=lambda rail: rail.id)
    singles: list[Single] = [*structure.handholds, *structure.hatches, *structure.sockets]
    singles.sort(key=lambda single: single.id)
    line = _Line.of(rails)
    segment, share = _places_on_rails(structure, situation, line, singles)
    held = line.point(segment, share)
    along_m = line.along_m[segment] + share * line.length_m[segment]
    sideways = _sideways(structure, singles)
    held_at = (segment, held, along_m)
    return _sorted_places((rails, singles), line, held_at, sideways, set(situation.closed))


def _sideways(structure: Structure, singles: list[Single]) -> Floats:
    """Return where the fan starts at single holds.

    Clock zero at a socket, towards its tether point at a hatch, and towards the
    first hatch, else the first rail, at a handhold.
    """
    marks = [hatch.position_m for hatch in sorted(structure.hatches, key=lambda h: h.id)]
    marks += [rail.points_m[0] for rail in sorted(structure.handrails, key=lambda r: r.id)]
    mark = np.array(marks[0] if marks else (0.0, 0.0, 0.0))
    found = np.zeros((len(singles), 3))
    for i, single in enumerate(singles):
        if isinstance(single, Socket):
            found[i] = single.clock_zero
            continue
        point = structure.by_id.get(single.tether_point) if isinstance(single, Hatch) else None
        towards = np.array(point.position_m) if isinstance(point, TetherPoint) else mark
        found[i] = towards - np.array(single.position_m)
    return found


@frozen(eq=False)
class _Line:
    """All straight pieces of all rails, rail after rail."""

    start_m: Floats
    end_m: Floats
    rail: Indices
    along_m: Floats
    """Distance of each piece's start from the rail's first point [m]."""
    length_m: Floats
    last: Flags
    """Whether the rail ends with this piece."""

    @classmethod
    def of(cls, rails: list[Handrail]) -> "_Line":
        corners = np.array([len(rail.points_m) for rail in rails], dtype=np.int64)
        points = np.array([p for rail in rails for p in rail.points_m], dtype=float).reshape(-1, 3)
        rail = np.repeat(np.arange(len(rails)), corners)
        inner = np.flatnonzero(rail[1:] == rail[:-1])
        start, end, rail = points[inner], points[inner + 1], rail[inner]
        length_m = np.sqrt(((end - start) ** 2).sum(axis=1))
        total = np.cumsum(length_m) - length_m
        first = np.searchsorted(rail, rail, side="left")
        last = np.append(rail[1:] != rail[:-1], len(rail) > 0)[: len(rail)]
        return cls(start, end, rail, _from_rail_start(total, first, length_m), length_m, last)

    def point(self, segment: Indices, share: Floats) -> Floats:
        """Return points by piece and share; exactly the corner at shares 0 and 1."""
        s = share[:, None]
        points: Floats = self.start_m[segment] * (1 - s) + self.end_m[segment] * s
        return points


def _from_rail_start(total: Floats, first: Indices, length_m: Floats) -> Floats:
    """Return distances from each rail's own start, summed rail by rail.

    A running sum over all rails would make a rail's distances depend on the
    rails before it, by rounding.
    """
    along = np.zeros_like(total)
    position = np.arange(len(total)) - first
    for step in range(1, int(position.max(initial=0)) + 1):
        at = np.flatnonzero(position == step)
        along[at] = along[at - 1] + length_m[at - 1]
    return along


def _places_on_rails(
    structure: Structure, situation: Situation, line: _Line, singles: list[Single]
) -> tuple[Indices, Floats]:
    """Return piece and share of every grip on a rail, one per millimetre, in order."""
    sampled = _samples(line, situation.limits.grip_spacing_m)
    nearest = _crossings(structure, situation, line, singles)
    worksites = _worksite_places(structure, line)
    parts = (sampled, worksites, nearest)
    segment, share, gap_m = (np.concatenate(column) for column in zip(*parts, strict=True))
    rank = np.repeat(np.arange(len(parts)), [len(part[0]) for part in parts])
    along_m = line.along_m[segment] + share * line.length_m[segment]
    millimetre = np.rint(along_m * _PER_METRE)
    # First of each millimetre: sampled before worksite before crossing, the nearest of these;
    # so a longer reach adds grips and never moves one.
    order = np.lexsort((segment, along_m, gap_m, rank, millimetre, line.rail[segment]))
    segment, share, millimetre = segment[order], share[order], millimetre[order]
    rail = line.rail[segment]
    new = np.ones(len(rail), dtype=bool)
    new[1:] = (rail[1:] != rail[:-1]) | (millimetre[1:] != millimetre[:-1])
    return segment[new], share[new]


Part = tuple[Indices, Floats, Floats]


def _samples(line: _Line, spacing_m: float) -> Part:
    """Return places no farther apart than the spacing: (piece, share, zeros)."""
    steps = np.maximum(np.ceil(line.length_m / spacing_m - 1e-9), 1).astype(np.int64)
    held = steps + line.last
    segment = np.repeat(np.arange(len(steps)), held)
    number = np.arange(len(segment)) - np.repeat(np.cumsum(held) - held, held)
    return segment, number / steps[segment], np.zeros(len(segment))


def _crossings(
    structure: Structure, situation: Situation, line: _Line, singles: list[Single]
) -> Part:
    """Return the nearest places of rails to one another, to single holds and to tether points."""
    limits, person = situation.limits, situation.person
    reach_m = limits.reach_m if person is None or person.reach_m is None else person.reach_m
    points = [single.position_m for single in singles]
    hooked = [point.position_m for point in structure.tether_points]
    place_m = np.array([*points, *hooked], dtype=float).reshape(-1, 3)
    reaches_m = np.repeat(
        [reach_m, limits.hook_reach_m], [len(line.rail) + len(points), len(hooked)]
    )
    # A rail must be looked up as far as the farther of hand and hook.
    reaches_m[: len(line.rail)] = max(reach_m, limits.hook_reach_m)
    nearest = nearest_places(
        Segments(
            np.concatenate([line.start_m, place_m]),
            np.concatenate([line.end_m, place_m]),
            np.concatenate([line.rail, len(line.rail) + np.arange(len(place_m))]),
            reaches_m,
        )
    )
    rails = nearest.segment < len(line.rail)
    return nearest.segment[rails], nearest.share[rails], nearest.gap_m[rails]


def _worksite_places(structure: Structure, line: _Line) -> Part:
    """Return the place of every worksite that is on a handrail."""
    ranks = {rail_id: i for i, rail_id in enumerate(sorted(r.id for r in structure.handrails))}
    found: list[tuple[int, float]] = []
    for worksite in sorted(structure.worksites, key=lambda site: site.id):
        if worksite.handrail is None or worksite.place_m is None:
            continue
        rank = ranks[worksite.handrail]
        begin, end = np.searchsorted(line.rail, [rank, rank + 1]).tolist()
        place_m = np.array([worksite.place_m])
        gap_m, _, share = segment_gaps(
            place_m, place_m, line.start_m[begin:end], line.end_m[begin:end]
        )
        nearest = int(gap_m.argmin())
        found.append((begin + nearest, float(share[nearest])))
    segment = np.array([piece for piece, _ in found], dtype=np.int64)
    return segment, np.array([share for _, share in found]), np.zeros(len(found))


def _sorted_places(
    elements: tuple[list[Handrail], list[Single]],
    line: _Line,
    held: tuple[Indices, Floats, Floats],
    sideways: Floats,
    closed: set[str],
) -> Places:
    """Put rails and single holds together in id order, without what is closed."""
    rails, singles = elements
    segment, position_m, along_m = held
    owners: list[Handrail | Single] = [*rails, *singles]
    names = [owner.id for owner in owners]
    order = sorted(range(len(names)), key=names.__getitem__)
    rank = np.empty(len(names), dtype=np.int64)
    rank[order] = np.arange(len(names))
    owner = np.concatenate([line.rail[segment], len(rails) + np.arange(len(singles))])
    open_owner = np.array([name not in closed for name in names], dtype=bool)
    along_m = np.concatenate([along_m, np.zeros(len(singles))])
    taken = np.lexsort((along_m, rank[owner]))
    taken = taken[open_owner[owner[taken]]]
    owner, along_m = owner[taken], along_m[taken]
    at_m = np.concatenate([position_m, _rows([s.position_m for s in singles])])[taken]
    along_rail = (line.end_m - line.start_m) / np.where(line.length_m > 0, line.length_m, 1)[
        :, None
    ]
    kinds = [_KINDS.get(type(one), GripKind.HANDRAIL) for one in owners]
    hooks = [one.tether_hook if isinstance(one, Handrail | Handhold) else False for one in owners]
    element_ids = tuple([names[i] for i in owner.tolist()])
    return Places(
        ids=_grip_ids(element_ids, owner < len(rails), along_m),
        element_ids=element_ids,
        element=rank[owner],
        kind=np.array(kinds, dtype=np.int8)[owner],
        position_m=at_m,
        normal=_units(_rows([one.normal for one in owners]))[owner],
        along_m=along_m,
        sideways=np.concatenate([along_rail[segment], sideways])[taken],
        tether_hook=np.array(hooks, dtype=bool)[owner],
    )


def _grip_ids(element_ids: tuple[str, ...], on_rail: Flags, along_m: Floats) -> tuple[str, ...]:
    millimetres = np.rint(along_m * _PER_METRE).tolist()
    return tuple(
        [
            f"{element_id}@{millimetre / _PER_METRE:.3f}" if rail else element_id
            for element_id, rail, millimetre in zip(
                element_ids, on_rail.tolist(), millimetres, strict=True
            )
        ]
    )


def _rows(vectors: list[Vector]) -> Floats:
    return np.array(vectors, dtype=np.float64).reshape(-1, 3)


def _units(vectors: Floats) -> Floats:
    units: Floats = vectors / np.sqrt((vectors * vectors).sum(axis=1, keepdims=True))
    return units
