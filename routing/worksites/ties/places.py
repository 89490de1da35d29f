"""What an equipment-tether chain may be tied to."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from routing.worksites.ties.lines import LinesTo
from structures.elements import Handhold, Handrail, Worksite
from structures.model import Structure
from structures.polylines import Polyline
from structures.solids.axes import Floats, norms

__all__ = ["Tie", "allowed_ties", "near_ties", "tie_elements"]

_LISTED = 3


@dataclass(frozen=True, slots=True, eq=False)
class Tie:
    """A handrail or handhold, and why it may not be used, if so."""

    id: str
    line: Polyline
    barred: str | None

    def gap_m(self, point_m: Floats) -> float:
        """Return how near its bounding box comes to a point: it is no nearer itself [m]."""
        return float(gaps_m([self], point_m)[0])


def gaps_m(ties: Sequence[Tie], *points_m: Floats) -> Floats:
    """Return how near the boxes of ties certainly do not come to the farthest of some points.

    Shape (n,) [m]; of one point it is `Tie.gap_m`.
    """
    low, high = np.array([tie.line.box_m for tie in ties]).reshape(-1, 2, 3).swapaxes(0, 1)
    apart = [norms(np.maximum(np.maximum(low - one, one - high), 0.0)) for one in points_m]
    farthest: Floats = np.max(apart, axis=0)
    return farthest


def tie_elements(
    structure: Structure, closed: Collection[str], reached: Collection[str] | None
) -> tuple[Tie, ...]:
    """Return all handrails and handholds, in id order.

    Parameters
    ----------
    structure
        The structure.
    closed
        Ids of what is closed.
    reached
        Ids of what hands can get to, ``None`` for everything.
    """
    elements: list[Handrail | Handhold] = [*structure.handrails, *structure.handholds]
    return tuple(
        Tie(
            element.id,
            Polyline.through(
                element.points_m if isinstance(element, Handrail) else [element.position_m]
            ),
            _barred(element, closed, reached),
        )
        for element in sorted(elements, key=lambda element: element.id)
    )


def _barred(
    element: Handrail | Handhold, closed: Collection[str], reached: Collection[str] | None
) -> str | None:
    if element.id in closed:
        return f"{element.id} is closed"
    if not element.tether_hook:
        return f"{element.id} takes no tether hook"
    if reached is not None and element.id not in reached:
        return f"no way leads to {element.id}"
    return None


def allowed_ties(ties: Sequence[Tie], worksite: Worksite) -> tuple[list[Tie], str]:
    """Return what a worksite's chains may be tied to, and what stands against the rest."""
    named = set(worksite.tie_handrails)
    asked = [tie for tie in ties if not named or tie.id in named]
    barred = [tie.barred for tie in asked if tie.barred is not None]
    more = f" and {len(barred) - _LISTED} more" if len(barred) > _LISTED else ""
    why = (", ".join(barred[:_LISTED]) + more) or "the structure has none"
    return [tie for tie in asked if tie.barred is None], why


def near_ties(ties: list[Tie], held: LinesTo, seated: LinesTo) -> list[Tie]:
    """Leave out what the longest chain cannot reach; keep all where that leaves nothing."""
    gap_m = gaps_m(ties, held.point_m, seated.point_m)
    return [ties[k] for k in np.flatnonzero(gap_m <= held.farthest_m + 1e-6)] or ties
