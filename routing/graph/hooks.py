"""From which grips a tether hook can be put on which tether point."""

from collections.abc import Iterable

import numpy as np

from routing.graph.reach_graph import Flags, Floats, Indices, ReachGraph
from routing.graph.ways import LENGTH_SLACK_M, norms
from structures.elements import TetherPoint
from structures.frozen import frozen
from structures.solids.seams import line_blocked
from structures.solids.sweep import Sweep, sweep_clears

__all__ = ["HookPlaces", "hook_places", "hooks_near", "open_hooks"]


@frozen(kw_only=True, eq=False)
class HookPlaces:
    """Pairs of tether point and grip, k of them, in order of (point, grip)."""

    tether_points: tuple[str, ...]
    """The ids that were asked for, in that order."""
    point: Indices
    """Index into ``tether_points``, shape (k,)."""
    grip: Indices
    """Index of the grip, shape (k,)."""
    distance_m: Floats
    """Straight distance from tether point to grip, shape (k,) [m]."""

    def of(self, index: int) -> slice:
        """Return where the pairs of one tether point stand."""
        begin, end = np.searchsorted(self.point, [index, index + 1]).tolist()
        return slice(begin, end)

    def at(self, grips: Flags) -> "HookPlaces":
        """Return those at marked grips, marks of shape (n,)."""
        kept = grips[self.grip]
        return HookPlaces(
            tether_points=self.tether_points,
            point=self.point[kept],
            grip=self.grip[kept],
            distance_m=self.distance_m[kept],
        )


def open_hooks(graph: ReachGraph) -> HookPlaces:
    """Return `hook_places` of all open tether points, in id order."""
    points = sorted(point.id for point in graph.structure.tether_points)
    return hook_places(graph, [one for one in points if one not in graph.situation.closed])


def hook_places(graph: ReachGraph, tether_point_ids: Iterable[str]) -> HookPlaces:
    """Find the usable grips from which each tether point is within hook reach.

    The straight line from grip to tether point must not go through a solid, nor
    touch a keep-out zone that applies to tethers. Closed tether points have no
    such grips.

    Parameters
    ----------
    graph
        Its situation gives hook reach, conditions and closures.
    tether_point_ids
        Tether points, in any order.

    Raises
    ------
    UnknownIdError
        No tether point has one of the ids.
    """
    ids = tuple(tether_point_ids)
    structure, situation = graph.structure, graph.situation
    wanted = [structure.find(one, (TetherPoint,)) for one in ids]
    points_m = np.array([point.position_m for point in wanted], dtype=float)
    closed = np.array([one in situation.closed for one in ids], dtype=bool)
    point, grip, distance_m = hooks_near(graph, points_m.reshape(-1, 3), closed)
    return HookPlaces(tether_points=ids, point=point, grip=grip, distance_m=distance_m)


def hooks_near(
    graph: ReachGraph, points_m: Floats, closed: Flags
) -> tuple[Indices, Indices, Floats]:
    """Find the usable grips from which a hook can be put on at some places.

    Parameters
    ----------
    points_m
        The places, shape (p, 3) [m].
    closed
        Those that have none, shape (p,).

    Returns
    -------
    point, grip
        Number of the place and index of the grip of each pair, in order, shape (k,).
    distance_m
        Straight distance between them, shape (k,) [m].
    """
    reach_m = graph.situation.limits.hook_reach_m + LENGTH_SLACK_M
    point, grip = _near(graph, points_m, closed, reach_m)
    hook_m, hand_m = points_m[point].reshape(-1, 3), graph.grips.position_m[grip]
    around = graph.surroundings
    clear = ~line_blocked(around.solids.tables, hook_m, hand_m)
    if around.line.shapes:
        still = np.tile([1.0, 0.0, 0.0], (len(point), 1))
        clear &= sweep_clears(around.line.tables, Sweep(hook_m, hand_m, still, still, 0.0), 0.0)
    return point[clear], grip[clear], norms(hook_m - hand_m)[clear]


def _near(
    graph: ReachGraph, points_m: Floats, closed: Flags, reach_m: float
) -> tuple[Indices, Indices]:
    """Return pairs within reach, looked up in a strip of x round each tether point."""
    usable = np.flatnonzero(graph.grips.usable)
    position_m = graph.grips.position_m[usable]
    order = np.argsort(position_m[:, 0], kind="stable")
    x = position_m[order, 0]
    nothing = np.empty(0, dtype=np.int64)
    points, grips = [nothing], [nothing]
    for index in np.flatnonzero(~closed).tolist():
        at_m = points_m[index]
        begin = np.searchsorted(x, at_m[0] - reach_m, side="left")
        end = np.searchsorted(x, at_m[0] + reach_m, side="right")
        strip = order[begin:end]
        near = np.sort(usable[strip[norms(position_m[strip] - at_m) <= reach_m]])
        points.append(np.full(len(near), index))
        grips.append(near)
    return np.concatenate(points), np.concatenate(grips)
