"""Least-time ways from one site to many others, all from one search."""

from collections.abc import Iterator, Sequence
from typing import Any, Literal

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Flat, Network
from routing.paths.search.bucket_kernel import (
    NONE,
    SOURCE,
    Buckets,
    settle_all,
    settle_ties,
    trace_steps,
)
from routing.paths.search.buckets import bucket_room, bucket_width
from routing.paths.search.cost_sweeps import CostSweeps
from routing.paths.search.cost_trees import CostTrees, trace_together
from routing.paths.search.engine import Engine, choose_engine, compiled
from structures.frozen import frozen

__all__ = ["WaysTo", "tree_from", "ways_to_all"]

_SCIPY_PAYS_MOVES = 500_000
"""Moves looked at in plain Python from which loading scipy pays."""
_TOGETHER = 32
"""Searches of which the moves are read in one go with numpy."""
_INT = np.int32
"""Numbers of nodes and moves in the compiled engine."""


@frozen(kw_only=True, eq=False)
class WaysTo:
    """The least-time ways from one site to k goals."""

    seconds: Floats
    """Infinite where no way leads, shape (k,) [s]."""
    grip: Indices
    """The node of each goal that is reached, -1 where none is, shape (k,)."""
    first: Indices
    """Moves to goal i are ``steps[first[i]:first[i + 1]]``, shape (k + 1,)."""
    steps: Indices
    """Moves of the network, from each goal back to the source, shape (s,)."""


def ways_to_all(
    network: Network,
    starts: Sequence[Indices],
    goals: Sequence[Indices],
    *,
    traced: bool = True,
    engine: Engine = "auto",
) -> Iterator[WaysTo]:
    """Yield for each start the least-time ways to all goals.

    Parameters
    ----------
    network
        Moves that may be made, transfers in their cost.
    starts, goals
        Nodes that stand for each site, any of them; none for one that is not usable.
    traced
        Whether the moves are asked for, not only the seconds.
    engine
        By default compiled for big jobs where numba is installed.

    Notes
    -----
    Least cost, then fewest moves, then lowest numbers read back from the goal. Costs
    are those of `least_time` from the same nodes, and so are ways, but where it met
    a node first by a way that is dearer in the last bit only.
    """
    chosen = choose_engine(engine, moves=len(network.head), searches=len(starts))
    if chosen == "plain" and len(network.head) * len(starts) >= _SCIPY_PAYS_MOVES:
        yield from _by_scipy(network, starts, _Goals.of(goals), traced=traced)
        return
    places = _Goals.of(goals)
    if chosen == "compiled":
        yield from _by_sweeps(network, starts, places, traced=traced)
        return
    per_cost, turn = bucket_width(network.cost)
    for start in starts:
        work = bucket_room(len(network), turn, plain=True)
        sources = start.tolist()
        settle_all(network.lists, work, sources, per_cost)
        if traced or not places.one_each:
            settle_ties(network.lists, work, sources)
        yield places.read(work, traced=traced)


def _by_sweeps(
    network: Network, starts: Sequence[Indices], places: "_Goals", *, traced: bool
) -> Iterator[WaysTo]:
    sweeps = CostSweeps(network)
    hops, parent, step, queue = np.full((4, len(network)), NONE, dtype=_INT)
    for start, seconds in zip(starts, sweeps.costs(starts), strict=True):
        work = Buckets(seconds, hops, parent, step, queue, queue, queue, queue)
        if traced or not places.one_each:
            hops.fill(NONE)
            parent.fill(NONE)
            parent[start] = SOURCE
            compiled(settle_ties)(network.compact, work, start.astype(_INT))
        yield places.read(work, traced=traced)


def _by_scipy(
    network: Network, starts: Sequence[Indices], places: "_Goals", *, traced: bool
) -> Iterator[WaysTo]:
    by = CostTrees(network)
    for begin in range(0, len(starts), _TOGETHER):
        some = [start.tolist() for start in starts[begin : begin + _TOGETHER]]
        works = _trees(network, some, by, labelled=traced or not places.one_each)
        found = [places.reached(work) for work in works]
        grips = np.stack([grip for _, grip in found])
        hops = np.stack([_at(work.hops, grip) for work, grip in zip(works, grips, strict=True)])
        wanted = grips if traced else np.full_like(grips, NONE)
        steps = np.stack([work.step for work in works])
        first, moves = trace_together(network.tail, steps, wanted, hops)
        ends = np.append(0, np.cumsum(first[:, -1]))
        for number, (seconds, grip) in enumerate(found):
            yield WaysTo(
                seconds=seconds,
                grip=grip,
                first=first[number],
                steps=moves[ends[number] : ends[number + 1]],
            )


def _trees(
    network: Network, sites: list[list[int]], by: CostTrees, *, labelled: bool
) -> list[Buckets]:
    """Return what is known of all nodes from some sites, as arrays."""
    nothing = np.full(len(network), NONE)
    if by.usable and all(sites):
        costs = np.stack([by.costs(site) for site in sites])
        labels = by.labels(costs, sites) if labelled else ([nothing] * len(sites),) * 3
        if labels is not None:
            rows = zip(costs, *labels, strict=True)
            return [Buckets(*row, *[nothing] * 4) for row in rows]
    trees = (tree_from(network, site, engine="plain") for site in sites)
    return [Buckets(*map(np.array, tree), *[nothing] * 4) for tree in trees]


def tree_from(
    network: Network,
    sources: Sequence[int],
    *,
    engine: Literal["plain", "compiled"],
    by: CostTrees | None = None,
) -> tuple[Flat, Flat, Flat, Flat]:
    """Return the tree of least-cost ways from some nodes: seconds, hops, node before, move.

    Each of length n, as the engine has them; infinite and `NONE` where no way
    leads. A terminal node is left only if the tree starts there. The plain engine
    takes it from ``by``, if that is given and can tell it.
    """
    if by is not None and by.usable and engine == "plain":
        cost = by.costs(sources)
        labels = by.labels(cost[None], [sources])
        if labels is not None:
            return (cost.tolist(), *(one[0].tolist() for one in labels))
    per_cost, turn = bucket_width(network.cost)
    plain = engine == "plain"
    arcs = network.lists if plain else network.compact
    work = bucket_room(len(network), turn, plain=plain)
    settle = settle_all if plain else compiled(settle_all)
    starts = list(sources) if plain else np.array(sources, dtype=_INT)
    settle(arcs, work, starts, per_cost)
    ties = settle_ties if plain else compiled(settle_ties)
    ties(arcs, work, starts)
    return work.distance, work.hops, work.parent, work.step


@frozen(kw_only=True, eq=False)
class _Goals:
    """The nodes of all goals in one row, and which goal each is of."""

    count: int
    owner: Indices
    nodes: Indices
    one_each: bool
    """Whether every goal has just one node, so that there is nothing to choose."""

    @classmethod
    def of(cls, goals: Sequence[Indices]) -> "_Goals":
        sizes = [len(one) for one in goals]
        return cls(
            count=len(goals),
            owner=np.repeat(np.arange(len(goals)), sizes),
            nodes=np.concatenate([np.empty(0, dtype=np.int64), *goals]).astype(np.int64),
            one_each=sizes == [1] * len(goals),
        )

    def reached(self, work: Buckets) -> tuple[Floats, Indices]:
        """Return for each goal its least cost and the node that has it, -1 if none is reached."""
        cost = _at(work.distance, self.nodes)
        there = np.isfinite(cost)
        if self.one_each:
            return cost, np.where(there, self.nodes, NONE)
        return self._nearest(cost, _at(work.hops, self.nodes), np.flatnonzero(there))

    def read(self, work: Buckets, *, traced: bool) -> WaysTo:
        """Read the answer of one search."""
        seconds, grip = self.reached(work)
        first = np.zeros(self.count + 1, dtype=np.int64)
        steps = np.empty(0, dtype=np.int64)
        if traced:
            there = grip >= 0
            first[1:][there] = _at(work.hops, grip[there])
            first = np.cumsum(first)
            steps = _traced(work, grip, first)
        return WaysTo(seconds=seconds, grip=grip, first=first, steps=steps)

    def _nearest(self, cost: Floats, hops: Indices, reached: Indices) -> tuple[Floats, Indices]:
        """Return for each goal its least cost and the node that has it."""
        seconds = np.full(self.count, np.inf)
        grip = np.full(self.count, NONE, dtype=np.int64)
        keys = (self.nodes[reached], hops[reached], cost[reached], self.owner[reached])
        order = reached[np.lexsort(keys)]
        _, best = np.unique(self.owner[order], return_index=True)
        kept = order[best]
        seconds[self.owner[kept]], grip[self.owner[kept]] = cost[kept], self.nodes[kept]
        return seconds, grip


def _traced(work: Buckets, grip: Indices, first: Indices) -> Indices:
    """Return the moves on the ways to some nodes; `WaysTo` says in which order."""
    if isinstance(work.distance, list):
        listed = [NONE] * int(first[-1])
        trace_steps(work, grip.tolist(), first.tolist(), listed)
        return np.array(listed, dtype=np.int64)
    steps = np.empty(int(first[-1]), dtype=np.int64)
    compiled(trace_steps)(work, grip, first, steps)
    return steps


def _at(values: Flat, nodes: Indices) -> Any:
    """Return the values at some nodes as an array, whichever engine holds them."""
    if isinstance(values, list):
        return np.array([values[node] for node in nodes.tolist()])
    return values[nodes]
