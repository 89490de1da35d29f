"""Reel: the exact search for routes on long tethers, bound to a reach graph.

The tether search (`routing.paths.tether_search`) knows grips, moves and hooks;
here its ground is made from a reach graph, its starts from the start site and
the kit, and a course with anchorings from the path it finds.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from routing.graph.hooks import HookPlaces, hook_places
from routing.graph.reach_graph import GripKind, Indices, ReachGraph
from routing.graph.sites import SitePlaces
from routing.paths.arrays import Network
from routing.paths.course import Anchoring, Course, course_of
from routing.paths.kit import Kit
from routing.paths.layers import stack_layers, unstack
from routing.paths.stack import Tether, TetherRules, TetherState, hooked_at
from routing.paths.tether_path import TetheredPath, TetherTransfer
from routing.paths.tether_search import TetherProblem, find_tethered_path, find_tethered_paths
from routing.paths.tether_steps import Hooks, TetherGround
from structures.elements import Hatch, TetherPoint

__all__ = [
    "Outfit",
    "is_rated",
    "make_outfit",
    "on_one_reel",
    "payout_along",
    "reel_reach",
    "solve_reel",
    "start_states",
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outfit:
    """Tether points and tethers of one request, in the numbers the search uses."""

    points: tuple[TetherPoint, ...]
    """Open tether points, in id order."""
    places: HookPlaces
    rules: TetherRules
    carried: tuple[int, ...]
    """How many of each type the kit holds."""
    staged: tuple[tuple[int, int], ...]


def make_outfit(graph: ReachGraph, kit: Kit) -> Outfit:
    """Give numbers to the open tether points, the tethers of the kit and those staged outside."""
    situation = graph.situation
    points = sorted(
        (p for p in graph.structure.tether_points if p.id not in situation.closed),
        key=lambda point: point.id,
    )
    lengths = sorted(set(kit.reels_m) | {x for p in points for x in p.staged_m}, reverse=True)
    return Outfit(
        points=tuple(points),
        places=hook_places(graph, [point.id for point in points]),
        rules=TetherRules(
            tethers=tuple(Tether(name=f"{x:g} m", length_m=x) for x in lengths),
            reserve_m=situation.limits.reserve_m,
            transfer_s=situation.limits.transfer_s,
        ),
        carried=tuple(kit.reels_m.count(length) for length in lengths),
        staged=tuple(
            sorted((i, lengths.index(x)) for i, p in enumerate(points) for x in p.staged_m)
        ),
    )


def is_rated(graph: ReachGraph, point: TetherPoint) -> bool:
    """Tell whether a tether point is known to hold a safety tether."""
    least_n = graph.situation.limits.tether_point_rating_n
    return point.rating_n is not None and point.rating_n >= least_n


def start_states(graph: ReachGraph, outfit: Outfit, start: SitePlaces) -> tuple[TetherState, ...]:
    """Return the states a person may start in: which tether, on which point, at which grip.

    At a hatch it is the hatch's tether point; elsewhere any open one within
    hook reach of the grip.
    """
    states = []
    for point, grip, distance_m in _start_hooks(graph, outfit, start):
        for tether, count in enumerate(outfit.carried):
            if count and distance_m <= outfit.rules.usable_m(tether):
                rest = [n - (i == tether) for i, n in enumerate(outfit.carried)]
                state = hooked_at(
                    point=point,
                    grip=grip,
                    distance_m=distance_m,
                    tether=tether,
                    carried=tuple(rest),
                )
                states.append(replace(state, staged=outfit.staged))
    return tuple(states)


def _start_hooks(
    graph: ReachGraph, outfit: Outfit, start: SitePlaces
) -> list[tuple[int, int, float]]:
    site = graph.structure.by_id.get(start.site_id)
    if isinstance(site, Hatch):
        return [
            (i, grip, float(np.linalg.norm(np.asarray(point.position_m) - at_m)))
            for i, point in enumerate(outfit.points)
            if point.id == site.tether_point
            for grip, at_m in zip(
                start.grips.tolist(), graph.grips.position_m[start.grips], strict=True
            )
        ]
    places = outfit.places
    here = np.isin(places.grip, start.grips)
    return list(
        zip(
            places.point[here].tolist(),
            places.grip[here].tolist(),
            places.distance_m[here].tolist(),
            strict=True,
        )
    )


def _hooks(graph: ReachGraph, outfit: Outfit, legs: int) -> Hooks:
    """Return where transfers may be made: at points rated for a safety tether, on every leg."""
    rated = np.array([is_rated(graph, point) for point in outfit.points], dtype=bool)
    places = outfit.places
    kept = rated[places.point] if len(places.point) else np.zeros(0, dtype=bool)
    count = len(graph.grips)
    return Hooks(
        point=np.tile(places.point[kept], legs),
        grip=np.concatenate([places.grip[kept] + leg * count for leg in range(legs)]),
        distance_m=np.tile(places.distance_m[kept], legs),
    )


def solve_reel(graph: ReachGraph, places: Sequence[SitePlaces], kit: Kit) -> Course | None:
    """Return the least-time course on reels, or None.

    Without via sites it is proven best. With via sites it is the better of two
    safe ways: one search over all legs in which no line gets shorter, and one
    search after another in which people may go back along the lay.
    """
    outfit = make_outfit(graph, kit)
    starts = start_states(graph, outfit, places[0])
    if not starts:
        return None
    found = [_leg_after_leg(graph, outfit, starts, places)]
    if len(places) > 2:
        found.append(_all_legs(graph, outfit, starts, places))
    answers = [one for one in found if one is not None]
    if not answers:
        return None
    return min(answers, key=lambda answer: answer[0])[1]


Timed = tuple[float, Course]


def _ground(graph: ReachGraph, outfit: Outfit) -> TetherGround:
    """Return where tethers may lie and be hooked on; sockets are never passed through."""
    moves = graph.moves
    sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET)
    network = Network.of_moves(moves, allowed=moves.line_clear, terminal=sockets)
    return TetherGround(
        network=network, way_m=moves.way_m[network.move], hooks=_hooks(graph, outfit, 1)
    )


def _follow_legs(
    ground: TetherGround,
    rules: TetherRules,
    starts: tuple[TetherState, ...],
    places: Sequence[SitePlaces],
) -> list[TetheredPath]:
    """Return the best path of each leg from where the one before ends, up to the first without."""
    paths: list[TetheredPath] = []
    for place in places[1:]:
        problem = TetherProblem(ground=ground, rules=rules, starts=starts)
        path = find_tethered_path(problem, place.grips.tolist())
        if path is None:
            break
        paths.append(path)
        starts = (path.state,)
    return paths


def _leg_after_leg(
    graph: ReachGraph,
    outfit: Outfit,
    starts: tuple[TetherState, ...],
    places: Sequence[SitePlaces],
) -> Timed | None:
    paths = _follow_legs(_ground(graph, outfit), outfit.rules, starts, places)
    if len(paths) < len(places) - 1:
        return None
    grips = [*paths[0].nodes, *(node for path in paths[1:] for node in path.nodes[1:])]
    ends = np.cumsum([len(path.nodes) - 1 for path in paths]).tolist()
    anchorings = _anchorings(outfit, paths)
    course = replace(course_of(graph, grips, ends[:-1]), anchorings=anchorings)
    return sum(path.cost for path in paths), course


def reel_reach(graph: ReachGraph, places: Sequence[SitePlaces], kit: Kit) -> tuple[int, Indices]:
    """Return the first leg that cannot be done on reels, and the grips reached on it, ascending."""
    outfit = make_outfit(graph, kit)
    starts = start_states(graph, outfit, places[0])
    if not starts:
        return 0, np.empty(0, dtype=np.int64)
    ground = _ground(graph, outfit)
    paths = _follow_legs(ground, outfit.rules, starts, places[:-1]) if len(places) > 2 else []
    if paths:
        starts = (paths[-1].state,)
    problem = TetherProblem(ground=ground, rules=outfit.rules, starts=starts)
    answers = find_tethered_paths(problem, range(len(graph.grips)))
    return len(paths), np.array(sorted(answers.paths), dtype=np.int64)


def on_one_reel(graph: ReachGraph, course: Course, start: SitePlaces, kit: Kit) -> Course | None:
    """Return a course with the payout of the longest reel along it, never swapped.

    The payout may be more than the reel holds: this tells where it runs out.
    """
    outfit = make_outfit(graph, Kit(reels_m=(max(kit.reels_m),)))
    here = [hook for hook in _start_hooks(graph, outfit, start) if hook[1] == course.grips[0]]
    if not here:
        return None
    point, _, distance_m = min(here, key=lambda hook: (hook[2], hook[0]))
    way_m = [float(graph.moves.way_m[move]) for move in course.moves]
    reel = Anchoring(
        at=0,
        element_id=outfit.points[point].id,
        line_m=max(kit.reels_m),
        payout_m=payout_along(course.grips, way_m, distance_m),
        starts=True,
    )
    return replace(course, anchorings=(reel,))


def _all_legs(
    graph: ReachGraph,
    outfit: Outfit,
    starts: tuple[TetherState, ...],
    places: Sequence[SitePlaces],
) -> Timed | None:
    stops: list[Indices] = [place.grips for place in places]
    layers = stack_layers(graph, stops, graph.moves.line_clear, graph.moves.seconds)
    network = layers.network
    way_m = np.where(network.move >= 0, graph.moves.way_m[network.move], 0.0)
    ground = TetherGround(
        network=network, way_m=way_m, hooks=_hooks(graph, outfit, len(places) - 1)
    )
    problem = TetherProblem(ground=ground, rules=outfit.rules, starts=starts)
    path = find_tethered_path(problem, layers.goals.tolist())
    if path is None:
        return None
    grips, via_at = unstack(path.nodes, layers.grips)
    course = course_of(graph, grips, via_at)
    anchorings = _anchorings(outfit, [path], joins=_joins(path.nodes, layers.grips))
    return path.cost, replace(course, anchorings=anchorings)


def _joins(nodes: Sequence[int], grips: int) -> tuple[int, ...]:
    """Return the places in a stacked path that stand for the same grip as the place before."""
    return tuple(i for i, (a, b) in enumerate(pairwise(nodes), start=1) if a // grips != b // grips)


def _anchorings(
    outfit: Outfit, paths: Sequence[TetheredPath], joins: tuple[int, ...] = ()
) -> tuple[Anchoring, ...]:
    """Return the tethers in use along paths that follow one another, in order."""
    first = paths[0]
    log = _TetherLog(outfit, first.state.stack[0].point, first.tether[0], first.payout_m[0])
    for path in paths:
        for i, payout_m in enumerate(path.payout_m):
            if i > 0 and i not in joins:
                log.step(payout_m)
            for transfer in path.transfers:
                if transfer.at == i:
                    log.swap(transfer)
    return log.finish()


class _TetherLog:
    """The tethers in use while a path is being followed."""

    def __init__(self, outfit: Outfit, point: int, tether: int, payout_m: float) -> None:
        self.outfit = outfit
        self.stack = [(point, tether)]
        self.at = 0
        self.done: list[Anchoring] = []
        self.now = self._hooked(payout_m)

    def _hooked(self, payout_m: float) -> Anchoring:
        point, tether = self.stack[-1]
        return Anchoring(
            at=self.at,
            element_id=self.outfit.points[point].id,
            line_m=self.outfit.rules.tethers[tether].length_m,
            payout_m=(payout_m,),
            starts=not self.done,
            seconds=self.outfit.rules.transfer_s if self.done else 0.0,
        )

    def step(self, payout_m: float) -> None:
        """Come to the next grip."""
        self.at += 1
        self.now = replace(self.now, payout_m=(*self.now.payout_m, payout_m))

    def swap(self, transfer: TetherTransfer) -> None:
        """Take the next tether, or on going back the one before."""
        returns = transfer.kind == "return"
        stowed_m = None if returns else transfer.released_m
        self.done.append(replace(self.now, stowed_m=stowed_m))
        if returns:
            self.stack.pop()
        else:
            self.stack.append((transfer.point, transfer.tether))
        self.now = replace(self._hooked(transfer.payout_m), returns=returns)

    def finish(self) -> tuple[Anchoring, ...]:
        """Return all tethers in the order they were used in."""
        return (*self.done, self.now)


def payout_along(grips: Sequence[int], way_m: Iterable[float], first_m: float) -> tuple[float, ...]:
    """Return the line out at each grip of a path on one reel.

    The line gets longer by the way of each hand-over and shorter only by going
    back along the lay, grip by grip.

    Parameters
    ----------
    grips
        Grips in order.
    way_m
        Length of each hand-over, one fewer [m].
    first_m
        Line out at the first grip [m].

    Examples
    --------
    Out to 2 and one back again:

    >>> payout_along([0, 1, 2, 1], [1.0, 0.5, 0.5], 0.25)
    (0.25, 1.25, 1.75, 1.25)
    """
    lay = [(grips[0], first_m)]
    payout_m = [first_m]
    for grip, step_m in zip(grips[1:], way_m, strict=True):
        if len(lay) > 1 and lay[-2][0] == grip:
            lay.pop()
        else:
            lay.append((grip, lay[-1][1] + step_m))
        payout_m.append(lay[-1][1])
    return tuple(payout_m)
