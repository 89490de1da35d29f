"""Which limit, moved alone, opens a route, and how far it must be moved."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from routing.graph.build import build_graph
from routing.graph.reach_graph import Floats, ReachGraph
from routing.graph.situation import Situation
from routing.paths.changes import base_limit, with_limit
from routing.paths.no_route.answer import Opening
from routing.paths.no_route.opened import OpenedWay, opening_of, try_request
from routing.paths.request import Request, solve
from routing.paths.tethers.kit import Kit
from structures.fields import file_key
from structures.units import Side, fine_text, length_text, number_text

__all__ = [
    "LIMIT_TRIALS",
    "LimitTrial",
    "open_by_limit",
    "open_by_line",
    "open_by_reels",
    "worth_trying",
]

REACH_FACTOR: Final = 1.5
"""Reaches up to this many times the present one are looked at: 24 in to 36 in, the
station-era and the older handhold gap (both from memory, unconfirmed)."""

_LONGEST_SHORT_TETHER_M: Final = 10.0
_LONGEST_LINE_FACTOR: Final = 4.0
_MOST_MORE_REELS: Final = 4

_HALVINGS: Final = 5
"""Of an interval where every trial needs a new graph."""

_LINE_WITHIN_M: Final = 0.01
_SLACK: Final = 1e-9
"""Values this much over a candidate still count as at it: rounding only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitTrial:
    """One limit, how far it is moved at most, and how the needed value is read off the moves."""

    name: str
    unit: str
    farthest: Callable[[Situation], float]
    measure: Callable[[ReachGraph], Floats] | None = None
    """What of each move the limit is held against, in its unit; ``None``: not of single moves."""
    also: tuple[str, ...] = ()
    """Limits that are moved to at least the same value with it."""
    protocols: tuple[str, ...] = ("leapfrog", "reel")
    only_adds: bool = False
    """Whether moving it only ever adds grips, moves and hooks, so that it never closes a way."""
    of_tethers: bool = False
    """Whether grips and moves are the same whatever it is: only the tether rule asks for it."""


def _base_reach(graph: ReachGraph) -> Floats:
    """Return the reach without load that each way needs [m]."""
    situation = graph.situation
    factor = situation.ability.reach_m / base_limit(situation, "reach_m")
    return graph.moves.way_m / factor


def _farthest_reach(situation: Situation) -> float:
    return REACH_FACTOR * base_limit(situation, "reach_m")


LIMIT_TRIALS: Final = (
    LimitTrial(
        name="reach_m", unit="m", farthest=_farthest_reach, measure=_base_reach, only_adds=True
    ),
    # Hand and hook go out on the same arm: in leapfrog a longer one alone may not do.
    LimitTrial(
        name="reach_m",
        unit="m",
        farthest=_farthest_reach,
        measure=_base_reach,
        also=("hook_reach_m",),
        protocols=("leapfrog",),
        only_adds=True,
    ),
    LimitTrial(
        name="max_turn_deg",
        unit="deg",
        farthest=lambda _: 180.0,
        measure=lambda graph: np.rad2deg(graph.moves.turn_rad),
    ),
    LimitTrial(name="max_lean_deg", unit="deg", farthest=lambda _: 90.0),
    LimitTrial(
        name="corridor_radius_m",
        unit="m",
        farthest=lambda situation: base_limit(situation, "corridor_radius_m") / 2,
    ),
    LimitTrial(
        name="hook_reach_m",
        unit="m",
        farthest=lambda situation: max(
            REACH_FACTOR * situation.limits.hook_reach_m, situation.ability.reach_m
        ),
        only_adds=True,
    ),
    LimitTrial(
        name="short_tether_m",
        unit="m",
        farthest=lambda _: _LONGEST_SHORT_TETHER_M,
        measure=lambda graph: graph.moves.way_m,
        protocols=("leapfrog",),
        only_adds=True,
        of_tethers=True,
    ),
)
"""In the order they are tried and told."""


def worth_trying(graph: ReachGraph, request: Request) -> tuple[LimitTrial, ...]:
    """Return the trials that may open a route under the request's protocol, in order.

    Limits that only ever add ways are moved together first, each to its farthest:
    where that opens none, no one of them does.
    """
    asked = [trial for trial in LIMIT_TRIALS if request.protocol in trial.protocols]
    situation = graph.situation
    for trial in asked:
        if trial.only_adds:
            situation = _moved(trial, situation, trial.farthest(graph.situation))
    if solve(build_graph(graph.structure, situation), request) is not None:
        return tuple(asked)
    return tuple(trial for trial in asked if not trial.only_adds)


def open_by_limit(trial: LimitTrial, graph: ReachGraph, request: Request) -> Opening | None:
    """Return the opening that a limit makes when it alone is moved, or None.

    ``smallest`` is said only where single moves are held against the limit:
    then the value is the least over all routes of the largest on one route,
    and the graph was built again with it to make sure.
    """
    now = base_limit(graph.situation, trial.name)
    farthest = trial.farthest(graph.situation)
    if farthest == now or request.protocol not in trial.protocols:
        return None
    wide = _graph_with(trial, graph, farthest)
    opened = try_request(wide, request)
    if opened is None:
        return None
    value, smallest = farthest, False
    for candidate, exact in _candidates(trial, graph, request, wide):
        found = _try_with(trial, graph, request, candidate)
        if found is not None:
            value, smallest, opened = candidate, exact, found
            break
    together = "".join(f" and {file_key(name)} to at least as much" for name in trial.also)
    least = "at least " if smallest and farthest > now else ""
    side: Side = "up" if farthest > now else "down"
    said, said_now = f"{number_text(value, side, 3)} {trial.unit}", f"{now:.3f}"
    if trial.unit == "m":
        said, said_now = fine_text(value, side), fine_text(now)
    return opening_of(
        opened,
        Opening(
            limit=trial.name,
            value=value,
            now=now,
            unit=trial.unit,
            smallest=smallest,
            seconds=opened.seconds,
            message=(
                f"{file_key(trial.name)} from {said_now} to {least}{said}{together} "
                f"opens a route of {opened.seconds:.0f} s"
            ),
        ),
    )


def _moved(trial: LimitTrial, situation: Situation, value: float) -> Situation:
    moved = with_limit(situation, trial.name, value)
    for name in trial.also:
        moved = with_limit(moved, name, max(base_limit(situation, name), value))
    return moved


def _graph_with(trial: LimitTrial, graph: ReachGraph, value: float) -> ReachGraph:
    situation = _moved(trial, graph.situation, value)
    if trial.of_tethers:
        return replace(graph, situation=situation)
    return build_graph(graph.structure, situation)


def _try_with(
    trial: LimitTrial, graph: ReachGraph, request: Request, value: float
) -> OpenedWay | None:
    return try_request(_graph_with(trial, graph, value), request)


def _candidates(
    trial: LimitTrial, graph: ReachGraph, request: Request, wide: ReachGraph
) -> Iterator[tuple[float, bool]]:
    """Yield values to build again with, the best first, and whether each is the smallest.

    ``wide`` is the graph with the farthest value.
    """
    farthest = trial.farthest(graph.situation)
    now = base_limit(graph.situation, trial.name)
    if trial.measure is not None:
        yield _bottleneck(trial, graph, request, wide), True
        return
    works, fails = farthest, now
    for _ in range(_HALVINGS):
        middle = (works + fails) / 2
        if solve(_graph_with(trial, graph, middle), request) is None:
            fails = middle
        else:
            works = middle
    yield works, False


def _bottleneck(trial: LimitTrial, graph: ReachGraph, request: Request, wide: ReachGraph) -> float:
    """Return the least value with which the moves that the farthest value allows make a route."""
    measured = np.zeros(0) if trial.measure is None else trial.measure(wide)
    values = np.unique(measured[measured > base_limit(graph.situation, trial.name)])
    low, high = 0, len(values) - 1
    while low < high:
        middle = (low + high) // 2
        if solve(_only(wide, measured <= values[middle] + _SLACK), request) is None:
            low = middle + 1
        else:
            high = middle
    return float(values[low]) if len(values) else trial.farthest(graph.situation)


def _only(graph: ReachGraph, moves: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> ReachGraph:
    """Return the graph with the tether rules forbidding all but some moves."""
    line_clear = graph.moves.line_clear & moves
    return replace(graph, moves=replace(graph.moves, line_clear=line_clear))


def open_by_line(graph: ReachGraph, request: Request) -> Opening | None:
    """Return the length that all reels of the kit must have at least, to the centimetre, or None.

    More line never closes a route, so halving finds the least length.
    """
    kit = request.kit_for(graph.situation.limits)
    now = max(kit.reels_m)
    count = len(kit.reels_m)

    def on_reels_of(length_m: float) -> OpenedWay | None:
        return try_request(graph, replace(request, kit=Kit(reels_m=(length_m,) * count)))

    works, fails = _LONGEST_LINE_FACTOR * now, now
    opened = on_reels_of(works)
    if opened is None:
        return None
    while works - fails > _LINE_WITHIN_M:
        middle = (works + fails) / 2
        found = on_reels_of(middle)
        if found is None:
            fails = middle
        else:
            works, opened = middle, found
    return opening_of(
        opened,
        Opening(
            limit="reel_length_m",
            value=works,
            now=now,
            unit="m",
            smallest=True,
            seconds=opened.seconds,
            message=(
                f"{count} reel{'' if count == 1 else 's'} of at least {length_text(works, 'up')} "
                f"instead of {length_text(now)} would open a route of {opened.seconds:.0f} s"
            ),
        ),
    )


def open_by_reels(graph: ReachGraph, request: Request) -> Opening | None:
    """Return how many more reels of the kit's longest kind open a route, or None."""
    kit = request.kit_for(graph.situation.limits)
    count = len(kit.reels_m)

    def on_more(more: int) -> OpenedWay | None:
        larger = Kit(reels_m=(*kit.reels_m, *(max(kit.reels_m),) * more))
        return try_request(graph, replace(request, kit=larger))

    # More reels never close a route: what the most do not open, fewer do not either.
    most = on_more(_MOST_MORE_REELS)
    if most is None:
        return None
    fewer = ((more, on_more(more)) for more in range(1, _MOST_MORE_REELS))
    more, opened = next(
        ((more, found) for more, found in fewer if found is not None), (_MOST_MORE_REELS, most)
    )
    return opening_of(
        opened,
        Opening(
            limit="reels",
            value=float(count + more),
            now=float(count),
            unit="1",
            smallest=True,
            seconds=opened.seconds,
            message=(
                f"{count + more} reels instead of {count} open a route of {opened.seconds:.0f} s"
            ),
        ),
    )
