"""Structures and reach graphs for the tests of routes, small enough to work out by hand."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import GripKind, Grips, Moves, ReachGraph
from routing.graph.situation import Situation
from structures.elements import (
    Handhold,
    Handrail,
    Hatch,
    Socket,
    Solid,
    TetherPoint,
    Worksite,
)
from structures.frames import Vector
from structures.model import Structure
from structures.shapes import Box

__all__ = ["UP", "Arc", "deck", "made_graph", "straight_rail"]

UP: Vector = (0.0, 0.0, -1.0)
HANDS_M = -0.07


def straight_rail(
    rail_id: str, start_m: float, end_m: float, y_m: float = 0.0, **more: object
) -> Handrail:
    """Make a rail along x on a deck whose top is at z = 0."""
    return Handrail.model_validate(
        {
            "id": rail_id,
            "points_m": ((start_m, y_m, HANDS_M), (end_m, y_m, HANDS_M)),
            "normal": UP,
            **more,
        }
    )


def deck(**lists: object) -> Structure:
    """Make a deck with three rails in line, a hatch before them and a socket after them.

    ::

        A1  H1 0..3   H2 3.4..6   H3 6.5..12  S1 (worksite W1)
        -0.4                                  12.5

    Tether point T1 is 0.3 m beside the hatch, T2 0.2 m beside x = 5. All gaps
    are 0.4 m but for the two at the ends of H3, which are 0.5 m.
    """
    content: dict[str, object] = {
        "name": "deck",
        "revision": "A",
        "solids": (
            Solid(id="floor", volume=Box(center_m=(0.0, 0.0, 1.0), size_m=(60.0, 60.0, 2.0))),
        ),
        "handrails": (
            straight_rail("H1", 0.0, 3.0),
            straight_rail("H2", 3.4, 6.0),
            straight_rail("H3", 6.5, 12.0),
        ),
        "sockets": (
            Socket(id="S1", position_m=(12.5, 0.0, HANDS_M), normal=UP, clock_zero=(1.0, 0.0, 0.0)),
        ),
        "tether_points": (
            TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
            TetherPoint(id="T2", position_m=(5.0, 0.2, 0.0), rating_n=3000.0),
        ),
        "hatches": (Hatch(id="A1", position_m=(-0.4, 0.0, HANDS_M), normal=UP, tether_point="T1"),),
        "worksites": (
            Worksite(id="W1", socket="S1"),
            Worksite(id="W2", handrail="H2", place_m=(4.0, 0.5, 0.0)),
        ),
    }
    return Structure.model_validate(content | lists)


@dataclass(frozen=True, kw_only=True)
class Arc:
    """A move of a made-up graph, in one direction."""

    tail: int
    head: int
    seconds: float
    way_m: float = 0.25
    line_clear: bool = True


def made_graph(
    elements: Sequence[str],
    arcs: Sequence[Arc],
    *,
    kinds: dict[str, int] | None = None,
    situation: Situation | None = None,
) -> ReachGraph:
    """Make a reach graph out of nothing: grip i is on ``elements[i]``, 0.3 m after grip i - 1.

    Elements are handrails unless ``kinds`` says otherwise; gaps are as long as
    ways, so that a graph need not make sense in space.
    """
    kinds = kinds or {}
    count = len(elements)
    position_m = np.zeros((count, 3))
    position_m[:, 0] = 1e-4 * np.arange(count)
    up = np.tile(np.array(UP), (count, 1))
    kind = np.array([kinds.get(one, GripKind.HANDRAIL) for one in elements], dtype=np.int8)
    along_m = np.arange(count, dtype=float)
    grips = Grips(
        ids=tuple(
            f"{one}@{along:.3f}" if k == GripKind.HANDRAIL else one
            for one, along, k in zip(elements, along_m, kind, strict=True)
        ),
        element_ids=tuple(elements),
        kind=kind,
        position_m=position_m,
        normal=up,
        along_m=along_m,
        lean=up,
        body_m=position_m + 0.5 * up,
        usable=np.ones(count, dtype=bool),
        tether_hook=kind == GripKind.HANDRAIL,
    )
    listed = sorted(arcs, key=lambda arc: (arc.tail, arc.head))
    tails = np.array([arc.tail for arc in listed], dtype=np.int64)
    seconds = np.array([arc.seconds for arc in listed], dtype=float)
    way_m = np.array([arc.way_m for arc in listed], dtype=float)
    zero = np.zeros(len(listed))
    moves = Moves(
        indptr=np.searchsorted(tails, np.arange(count + 1)).astype(np.int64),
        head=np.array([arc.head for arc in listed], dtype=np.int64),
        seconds=seconds,
        travel_s=seconds,
        gap_s=zero,
        turn_s=zero,
        face_s=zero,
        slow_s=zero,
        exposure_s=zero,
        gap_m=way_m,
        way_m=way_m,
        turn_rad=zero,
        changes_rail=np.array([elements[a.tail] != elements[a.head] for a in listed], dtype=bool),
        line_clear=np.array([arc.line_clear for arc in listed], dtype=bool),
        way_kind=np.zeros(len(listed), dtype=np.int8),
    )
    return ReachGraph(
        structure=_structure_of(elements, kinds),
        situation=situation or Situation(),
        grips=grips,
        moves=moves,
    )


def _structure_of(elements: Sequence[str], kinds: dict[str, int]) -> Structure:
    names = sorted(set(elements))
    of_kind = {
        kind: [one for one in names if kinds.get(one, GripKind.HANDRAIL) == kind]
        for kind in (GripKind.HANDRAIL, GripKind.HANDHOLD, GripKind.HATCH, GripKind.SOCKET)
    }
    at = {"position_m": (0.0, 0.0, 0.0), "normal": UP}
    return Structure.model_validate(
        {
            "name": "made up",
            "revision": "0",
            "handrails": [straight_rail(one, 0.0, 1.0) for one in of_kind[GripKind.HANDRAIL]],
            "handholds": [Handhold(id=one, **at) for one in of_kind[GripKind.HANDHOLD]],
            "sockets": [
                Socket(id=one, clock_zero=(1.0, 0.0, 0.0), **at) for one in of_kind[GripKind.SOCKET]
            ],
            "hatches": [Hatch(id=one, tether_point="T", **at) for one in of_kind[GripKind.HATCH]],
            "tether_points": [TetherPoint(id="T", position_m=(0.0, 0.0, 0.0), rating_n=3000.0)],
            "worksites": [Worksite(id=f"W-{one}", socket=one) for one in of_kind[GripKind.SOCKET]],
        }
    )
