"""Least costs by buckets: what `bucket_kernel` is given, and one search of costs alone."""

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Flat, Network
from routing.paths.search.bucket_kernel import NONE, Buckets, settle_all
from routing.paths.search.engine import compiled

__all__ = ["bucket_room", "bucket_width", "seconds_from"]

_WIDTH_MOVES: float = 2.0
"""Width of a bucket in mean costs of a move: measured best from 1 to 4."""
_MOST_BUCKETS = 4096
_INT = np.int32
"""Numbers of nodes and moves in the compiled engine."""


def seconds_from(network: Network, sources: Indices) -> Floats:
    """Return least costs from some nodes to every node, compiled, shape (n,).

    Infinite where no way leads; a terminal node is entered but not left.
    """
    per_cost, turn = bucket_width(network.cost)
    work = bucket_room(len(network), turn, plain=False)
    compiled(settle_all)(network.compact, work, sources.astype(_INT), per_cost)
    seconds: Floats = work.distance
    return seconds


def bucket_width(cost: Floats) -> tuple[float, int]:
    """Return how many buckets a unit of cost is worth, and how many a ring needs.

    Parameters
    ----------
    cost
        Of all moves, shape (m,).
    """
    if not len(cost) or not cost.max() > 0:
        return 1.0, 3
    width = max(_WIDTH_MOVES * float(cost.mean()), float(cost.max()) / _MOST_BUCKETS)
    return 1.0 / width, int(float(cost.max()) / width) + 3


def bucket_room(nodes: int, turn: int, *, plain: bool) -> Buckets:
    """Return what a search begins with, for so many buckets in the ring."""

    def numbers(count: int) -> Flat:
        return [NONE] * count if plain else np.full(count, NONE, dtype=_INT)

    return Buckets(
        distance=[float("inf")] * nodes if plain else np.full(nodes, np.inf),
        hops=numbers(nodes),
        parent=numbers(nodes),
        step=numbers(nodes),
        bucket=numbers(nodes),
        after=numbers(nodes),
        before=numbers(nodes),
        ring=numbers(turn),
    )
