"""Least-cost ways with something closed: many searches in one go, each led by a bound."""

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from routing.graph.reach_graph import Indices
from routing.paths.arrays import Arcs, Flat, Network
from routing.paths.detour_kernel import Cases, Found, Labels, settle_detours
from routing.paths.engine import compiled
from structures.frozen import frozen

__all__ = ["Detour", "Detours", "Pair"]

_NONE: Final = -1
_ROOM: Final = 16
"""Room for the moves of this many ways through all nodes, before answers are handed over."""
_BATCH: Final = 4096
"""Searches with the same labels: their numbers must fit into those, 64 to a search."""


@frozen(kw_only=True, eq=False)
class Pair:
    """Nodes to start from and nodes to come to.

    ``bound`` says what remains to these at least from every node: a list for plain
    Python, an array of shape (n,) for the compiled engine.
    """

    sources: Sequence[int]
    goals: Sequence[int]
    bound: Flat


@frozen(kw_only=True, eq=False)
class Detour:
    """A least-cost way: the nodes on it and the moves of the network between them."""

    nodes: Indices
    moves: Indices


class Detours:
    """Ways through a network with something closed, ties broken as by `least_time`.

    Parameters
    ----------
    network
        With everything open.
    plain
        Whether to run as plain Python.

    Examples
    --------
    >>> network = Network.of_arcs(3, [(0, 1, 1.0), (1, 2, 1.0), (0, 2, 3.0)])
    >>> pair = Pair(sources=[0], goals=[2], bound=[0.0, 0.0, 0.0])
    >>> detours = Detours(network, plain=True)
    >>> found = detours.find([pair], [[], [1], [2]], [(0, 0), (1, 0), (2, 0)])
    >>> [one and one.nodes.tolist() for one in found]
    [[0, 1, 2], [0, 2], None]
    """

    def __init__(self, network: Network, *, plain: bool) -> None:
        self._network = network
        self._plain = plain
        self._both = _flat(network, plain=plain), _flat(network.reverse, plain=plain)

    def find(
        self,
        pairs: Sequence[Pair],
        closures: Sequence[Sequence[int]],
        cases: Sequence[tuple[int, int]],
    ) -> Iterator[Detour | None]:
        """Yield the least-cost way of each case, None if there is none.

        Parameters
        ----------
        pairs
            Their bounds must never be too much; those of the open network will do,
            since a closure only takes ways away.
        closures
            Nodes that nobody may be at, not even at the ends.
        cases
            Numbers of closure and pair.
        """
        for begin in range(0, len(cases), _BATCH):
            yield from self._batch(pairs, closures, cases[begin : begin + _BATCH])

    def _batch(
        self,
        pairs: Sequence[Pair],
        closures: Sequence[Sequence[int]],
        cases: Sequence[tuple[int, int]],
    ) -> Iterator[Detour | None]:
        size = len(self._network)
        make = _listed if self._plain else _small
        used = sorted({pair for _, pair in cases})
        number_of = {pair: number for number, pair in enumerate(used)}
        # Pairs that share a bound share its row.
        rows = {id(pairs[one].bound): pairs[one].bound for one in used}
        row_of = {key: number for number, key in enumerate(rows)}
        asked = Cases(
            *_joined(closures, make),
            *_joined([pairs[one].sources for one in used], make),
            *_joined([pairs[one].goals for one in used], make),
            row=make(np.array([row_of[id(pairs[one].bound)] for one in used])),
            closure=make(np.array([one for one, _ in cases])),
            pair=make(np.array([number_of[one] for _, one in cases])),
        )
        labels = Labels(
            [0.0] * size if self._plain else np.zeros(size),
            *(make(np.full(size, _NONE)) for _ in range(8)),
        )
        found = Found(
            goal=make(np.full(len(cases), _NONE)),
            first=make(np.zeros(len(cases) + 1, dtype=np.int64)),
            steps=make(np.zeros(size * _ROOM, dtype=np.int64)),
        )
        bounds: Flat = [*rows.values()] if self._plain else np.stack([*rows.values()])
        settle = settle_detours if self._plain else compiled(settle_detours)
        begin = 0
        while begin < len(cases):
            found.first[begin] = 0
            end = settle(self._both, asked, bounds, labels, found, begin)
            yield from self._read(found, begin, end)
            begin = end

    def _read(self, found: Found, begin: int, end: int) -> Iterator[Detour | None]:
        """Read what was found, all moves looked up in one go."""
        goals = np.asarray(found.goal[begin:end], dtype=np.int64)
        first = np.asarray(found.first[begin : end + 1], dtype=np.int64)
        steps = np.asarray(found.steps[: first[-1]], dtype=np.int64)[::-1]
        tails = self._network.tail[steps]
        for goal, (one, after) in zip(goals.tolist(), pairwise(first.tolist()), strict=True):
            if goal < 0:
                yield None
                continue
            some = slice(len(steps) - after, len(steps) - one)
            yield Detour(nodes=np.append(tails[some], goal), moves=steps[some])


def _flat(network: Network, *, plain: bool) -> Arcs:
    if plain:
        return network.lists
    return network.arrays._replace(indptr=_small(network.indptr), head=_small(network.head))


def _joined(lists: Sequence[Sequence[int]], make: Callable[[Indices], Flat]) -> tuple[Flat, Flat]:
    """Return where each list begins in one row, and that row."""
    sizes = np.cumsum([0, *(len(one) for one in lists)])
    return make(sizes), make(np.array([node for one in lists for node in one], dtype=np.int64))


def _listed(numbers: Indices) -> Flat:
    return numbers.tolist()


def _small(numbers: Indices) -> Flat:
    """Return numbers in half the memory: more of them are at hand."""
    return numbers.astype(np.int32)
