"""Least-cost ways with something closed: many searches in one go, each led by a bound."""

from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from routing.graph.reach_graph import Indices
from routing.paths.search.arrays import Arcs, Flat, Network
from routing.paths.search.detour_kernel import Cases, Found, Labels, OpenTree, settle_detours
from routing.paths.search.engine import compiled
from routing.paths.search.open_trees import OpenTrees, small
from structures.frozen import frozen

__all__ = ["Detour", "Detours", "Pair"]

_NONE: Final = -1
_ROOM: Final = 16
"""Room for the moves of this many ways through all nodes, before answers are handed over."""
_KEPT_TREES: Final = 64
"""Trees that are kept for the next call, one for each site that ways begin at."""


@frozen(kw_only=True, eq=False)
class Pair:
    """Nodes to start from and nodes to come to.

    ``bound`` says what remains to these at least from every node: a list for plain
    Python, an array of shape (n,) for the compiled engine.
    """

    sources: Sequence[int]
    goals: Sequence[int]
    bound: Flat


class Detour(NamedTuple):
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
    >>> [None if one is None else one.nodes.tolist() for one in found]
    [[0, 1, 2], [0, 2], None]
    """

    def __init__(self, network: Network, *, plain: bool) -> None:
        self._network = network
        self._plain = plain
        self._arcs = _flat(network, plain=plain)
        self._open = OpenTrees(network, plain=plain)
        self._trees: OrderedDict[tuple[int, ...], OpenTree] = OrderedDict()

    def find(
        self,
        pairs: Sequence[Pair],
        closures: Sequence[Sequence[int]],
        cases: Sequence[tuple[int, int]],
    ) -> list[Detour | None]:
        """Return the least-cost way of each case, None if there is none.

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
        make = _listed if self._plain else small
        shut = _joined(closures, make)
        alike: dict[tuple[int, ...], list[int]] = {}
        for number, (_, pair) in enumerate(cases):
            alike.setdefault(tuple(sorted(pairs[pair].sources)), []).append(number)
        answers: list[Detour | None] = [None] * len(cases)
        for sources, numbers in alike.items():
            # Pairs that share a bound share its row.
            asked = [pairs[cases[number][1]] for number in numbers]
            rows = {id(one.bound): one.bound for one in asked}
            row_of = {key: row for row, key in enumerate(rows)}
            some = Cases(
                *shut,
                *_joined([one.goals for one in asked], make),
                row=make(np.array([row_of[id(one.bound)] for one in asked])),
                closure=make(np.array([cases[number][0] for number in numbers])),
            )
            bounds: Flat = [*rows.values()] if self._plain else np.stack([*rows.values()])
            found = self._settle(self._tree(sources), some, bounds)
            for number, way in zip(numbers, found, strict=True):
                answers[number] = way
        return answers

    def _tree(self, sources: tuple[int, ...]) -> OpenTree:
        if sources not in self._trees:
            self._trees[sources] = self._open.tree(sources)
            if len(self._trees) > _KEPT_TREES:
                self._trees.popitem(last=False)
        else:
            self._trees.move_to_end(sources)
        return self._trees[sources]

    def _settle(self, tree: OpenTree, cases: Cases, bounds: Flat) -> Iterator[Detour | None]:
        size, count = len(self._network), len(cases.closure)
        make = _listed if self._plain else small
        labels = Labels(
            [0.0] * size if self._plain else np.zeros(size),
            *(make(np.full(size, _NONE)) for _ in range(9)),
        )
        found = Found(
            goal=make(np.full(count, _NONE)),
            first=make(np.zeros(count + 1, dtype=np.int64)),
            steps=make(np.zeros(size * _ROOM, dtype=np.int64)),
        )
        settle = settle_detours if self._plain else compiled(settle_detours)
        begin = 0
        while begin < count:
            found.first[begin] = 0
            back = self._open.backwards
            end = settle(self._arcs, back, tree, cases, bounds, labels, found, begin)
            yield from self._read(found, begin, end)
            begin = end

    def _read(self, found: Found, begin: int, end: int) -> Iterator[Detour | None]:
        """Read what was found, all nodes looked up in one go."""
        goals = np.asarray(found.goal[begin:end], dtype=np.int64)
        first = np.asarray(found.first[begin : end + 1], dtype=np.int64)
        steps = np.asarray(found.steps[: first[-1]], dtype=np.int64)[::-1]
        # The last way comes first; behind the tails of a way's moves stands its goal.
        ends = len(steps) - first
        nodes = np.insert(self._network.tail[steps], ends[-2::-1], goals[::-1])
        behind = np.arange(len(goals))[::-1]
        shares = zip(
            goals.tolist(),
            pairwise(ends.tolist()),
            (ends[1:] + behind).tolist(),
            (ends[:-1] + behind + 1).tolist(),
            strict=True,
        )
        for goal, (after, before), at, stop in shares:
            yield Detour(nodes[at:stop], steps[before:after]) if goal >= 0 else None


def _flat(network: Network, *, plain: bool) -> Arcs:
    if plain:
        return network.lists
    return network.arrays._replace(indptr=small(network.indptr), head=small(network.head))


def _joined(lists: Sequence[Sequence[int]], make: Callable[[Indices], Flat]) -> tuple[Flat, Flat]:
    """Return where each list begins in one row, and that row."""
    sizes = np.cumsum([0, *(len(one) for one in lists)])
    return make(sizes), make(np.array([node for one in lists for node in one], dtype=np.int64))


def _listed(numbers: Indices) -> Flat:
    return numbers.tolist()
