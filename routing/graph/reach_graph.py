"""The reach graph in arrays: what the builder makes and every search reads.

Nodes are grips, in ascending order of their id's sort key; moves are stored by
tail in CSR form, heads ascending, so that the same structure in any order of
elements gives the same arrays.
"""

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from routing.graph.situation import Situation
from structures.frozen import frozen
from structures.model import Structure

if TYPE_CHECKING:
    from routing.graph.hooks import HookPlaces
    from routing.graph.surroundings import Surroundings

__all__ = ["Flags", "Floats", "GripKind", "Grips", "Indices", "Moves", "ReachGraph"]

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]
Flags = NDArray[np.bool_]


class GripKind:
    """What a grip is on (the codes in `Grips.kind`)."""

    HANDRAIL = 0
    HANDHOLD = 1
    HATCH = 2
    SOCKET = 3
    """A socket is reached and left, never passed through."""


@frozen(kw_only=True, eq=False)
class Grips:
    """Places a hand can hold, n of them.

    ``ids`` are ``H12@0.250`` for a point 0.250 m along handrail H12 (to the
    millimetre; a grip's exact distance is in ``along_m``), or the element's id
    for handholds, hatches and sockets.
    """

    ids: tuple[str, ...]
    element_ids: tuple[str, ...]
    """Per grip the id of the handrail, handhold, hatch or socket it is on."""
    kind: NDArray[np.int8]
    position_m: Floats
    """At hand height, shape (n, 3) [m]."""
    normal: Floats
    """Outward unit normal, shape (n, 3)."""
    along_m: Floats
    """Distance along the handrail from its first point, shape (n,) [m]; 0 elsewhere."""
    lean: Floats
    """Unit direction from grip to body place, shape (n, 3)."""
    body_m: Floats
    """Centre of the body ball: position + corridor radius * lean, shape (n, 3) [m]."""
    usable: Flags
    """Whether the body has a clear place here, shape (n,)."""
    tether_hook: Flags
    """Whether a tether hook may be put here, shape (n,)."""

    def __len__(self) -> int:
        return len(self.ids)

    def on_element(self, element_id: str) -> Indices:
        """Return the grips on an element, ascending."""
        return np.array(self.of_element.get(element_id, ()), dtype=np.int64)

    @cached_property
    def of_element(self) -> dict[str, list[int]]:
        """The grips on each element that has any, ascending."""
        found: dict[str, list[int]] = {}
        for grip, element_id in enumerate(self.element_ids):
            found.setdefault(element_id, []).append(grip)
        return found


@frozen(kw_only=True, eq=False)
class Moves:
    """Directed hand-overs, m of them, sorted by (tail, head).

    ``seconds`` is the sum of the five parts. Transfers are not in it: what
    they cost depends on the tether protocol, so the search adds them.
    """

    indptr: Indices
    """Moves of grip i are indptr[i]:indptr[i + 1], shape (n + 1,)."""
    head: Indices
    seconds: Floats
    travel_s: Floats
    gap_s: Floats
    turn_s: Floats
    face_s: Floats
    slow_s: Floats
    """What slow-down zones add."""
    exposure_s: Floats
    """Seconds of this move inside slow-down zones."""
    gap_m: Floats
    """Straight distance from hand to hand [m]."""
    way_m: Floats
    """Length of the hands' way round edges, and of line laid, never less than gap_m [m]."""
    turn_rad: Floats
    changes_rail: Flags
    line_clear: Flags
    """Whether a tether line may lie along this move (zones that apply to tethers)."""
    way_kind: NDArray[np.int8]
    """Which of the tried ways the hands take, as in `routing.graph.ways.Ways`."""

    def __len__(self) -> int:
        return len(self.head)


@frozen(kw_only=True, eq=False)
class ReachGraph:
    """Grips and moves of one structure in one situation."""

    structure: Structure
    situation: Situation
    grips: Grips
    moves: Moves

    @cached_property
    def surroundings(self) -> "Surroundings":
        """What stands round the grips in this situation."""
        from routing.graph.surroundings import survey

        return survey(self.structure, self.situation)

    @cached_property
    def hooks(self) -> "HookPlaces":
        """From which grips a hook can be put on which open tether point, these in id order.

        Looked for once: of many kits and starts each asks for it.
        """
        from routing.graph.hooks import open_hooks

        return open_hooks(self)
