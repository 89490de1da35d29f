"""Least-cost ways with something closed: many searches in one go."""

from collections.abc import Callable, Iterator, Sequence
from functools import cached_property
from itertools import accumulate, chain
from typing import Final, NamedTuple

import numpy as np

from routing.graph.reach_graph import Indices
from routing.paths.search.arrays import Arcs, Flat, Network
from routing.paths.search.detour_kernel import settle_detours
from routing.paths.search.detour_tables import Cases, Found, Labels
from routing.paths.search.engine import compiled
from routing.paths.search.tree_kernel import Backwards
from routing.paths.search.tree_rows import BoundRows, TreeRows
from structures.frozen import frozen

__all__ = ["Detour", "Detours", "Pair", "Ways"]

_NONE: Final = -1
_ROOM: Final = 64
"""Room for the moves of this many ways through all nodes, before answers are handed over."""


class Pair(NamedTuple):
    """Nodes to start from and nodes to come to, any of them."""

    sources: Sequence[int]
    goals: Sequence[int]


class Detour(NamedTuple):
    """A least-cost way: the nodes on it and the moves of the network between them."""

    nodes: Indices
    moves: Indices


@frozen(kw_only=True, eq=False)
class Ways:
    """Least-cost ways of many cases, one after the other as they were found.

    Number i leads over ``moves[move_at[i]:move_at[i + 1]]``. Iterating gives the way of
    each case in the order of the cases, None where there is none.
    """

    case: Indices
    """Case that each is the way of, shape (k,)."""
    goal: Indices
    """Node reached, -1 where there is no way, shape (k,)."""
    moves: Indices
    """Moves of the network, shape (m,)."""
    move_at: Indices
    """Shape (k + 1,)."""
    tail: Indices
    """Where each of these moves begins, shape (m,)."""

    def __len__(self) -> int:
        return len(self.goal)

    def __iter__(self) -> Iterator[Detour | None]:
        return map(self._read, np.argsort(self.case).tolist())

    def _read(self, number: int) -> Detour | None:
        if self.goal[number] < 0:
            return None
        some = slice(int(self.move_at[number]), int(self.move_at[number + 1]))
        return Detour(np.append(self.tail[some], self.goal[number]), self.moves[some])


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
    >>> detours = Detours(network, plain=True)
    >>> found = detours.find([Pair([0], [2])], [[], [1], [2]], [(0, 0), (1, 0), (2, 0)])
    >>> [None if one is None else one.nodes.tolist() for one in found]
    [[0, 1, 2], [0, 2], None]
    """

    def __init__(self, network: Network, *, plain: bool) -> None:
        self._network = network
        self._plain = plain
        self._trees = TreeRows(network, plain=plain)
        self._bounds = BoundRows(network, self._trees.sweeps, plain=plain)

    def find(
        self,
        pairs: Sequence[Pair],
        closures: Sequence[Sequence[int]],
        cases: Sequence[tuple[int, int]],
    ) -> Ways:
        """Return the least-cost way of each case.

        Parameters
        ----------
        pairs
            Where ways begin and end.
        closures
            Nodes that nobody may be at, not even at the ends.
        cases
            Numbers of closure and pair.
        """
        parts: list[tuple[Indices, Indices, Indices]] = []
        numbers: list[int] = []
        for batch in self._batches(pairs, cases):
            parts += self._settle(self._cases(pairs, closures, [cases[i] for i in batch]))
            numbers += batch
        nothing = np.empty(0, dtype=np.int64)
        goal, moves, count = map(np.concatenate, zip((nothing,) * 3, *parts, strict=True))
        return Ways(
            case=np.array(numbers, dtype=np.int64),
            goal=goal,
            moves=moves,
            move_at=np.append(0, np.cumsum(count)),
            tail=self._network.tail[moves],
        )

    def _batches(
        self, pairs: Sequence[Pair], cases: Sequence[tuple[int, int]]
    ) -> Iterator[list[int]]:
        """Yield numbers of cases for which all trees and bounds can be kept, once they are made."""
        first, last = [_start(one) for one in pairs], [_end(one) for one in pairs]
        starts, ends = [first[pair] for _, pair in cases], [last[pair] for _, pair in cases]
        turns = zip(self._trees.kept.turns(starts), self._bounds.kept.turns(ends), strict=True)
        batches: dict[tuple[int, int], list[int]] = {}
        for number, turn in enumerate(turns):
            batches.setdefault(turn, []).append(number)
        # Those that share a tree come together: then it stays near at hand.
        at = {site: i for i, site in enumerate(dict.fromkeys(starts))}
        row = [at[site] for site in starts]
        for batch in batches.values():
            batch.sort(key=row.__getitem__)
            self._trees.fill([*dict.fromkeys(starts[number] for number in batch)])
            self._bounds.fill([*dict.fromkeys(ends[number] for number in batch)])
            yield batch

    def _cases(
        self,
        pairs: Sequence[Pair],
        closures: Sequence[Sequence[int]],
        cases: Sequence[tuple[int, int]],
    ) -> Cases:
        return Cases(
            *_in_a_row(closures, self._make),
            *_in_a_row([one.goals for one in pairs], self._make),
            tree=self._make([self._trees.kept.row.get(_start(one), _NONE) for one in pairs]),
            bound=self._make([self._bounds.kept.row.get(_end(one), _NONE) for one in pairs]),
            closure=self._make([closure for closure, _ in cases]),
            pair=self._make([pair for _, pair in cases]),
        )

    def _settle(self, cases: Cases) -> Iterator[tuple[Indices, Indices, Indices]]:
        """Yield goals, the moves to them, and how many these are, as long as there is room."""
        count, make = len(cases.closure), self._make
        labels = Labels(*map(self._column, Labels._fields))
        found = Found(
            goal=make([_NONE] * count),
            first=make([0] * (count + 1)),
            steps=self._steps,
        )
        settle = settle_detours if self._plain else compiled(settle_detours)
        begin = 0
        while begin < count:
            found.first[begin] = 0
            tables = (self._trees.rows, self._bounds.rows)
            try:
                stop = settle(*self._both_ways, *tables, cases, labels, found, begin)
            except BaseException:
                # A search that is broken off has taken places away: no tree is trusted any more.
                self._trees.kept.row.clear()
                raise
            first = np.array(found.first[begin : stop + 1], dtype=np.int64)
            goal = np.array(found.goal[begin:stop], dtype=np.int64)
            yield goal, np.array(found.steps[: first[-1]], dtype=np.int64), np.diff(first)
            begin = stop

    @cached_property
    def _steps(self) -> Flat:
        """Room for the moves of ways that are found."""
        many = len(self._network) * _ROOM
        return [0] * many if self._plain else np.empty(many, dtype=np.int32)

    @cached_property
    def _both_ways(self) -> tuple[Arcs, Backwards]:
        network = self._network
        if self._plain:
            return network.lists, self._trees.backwards
        return network.compact, self._trees.backwards

    def _column(self, name: str) -> Flat:
        """Return one of the labels of all nodes, as it is at first."""
        size = len(self._network)
        if name == "distance":
            return [0.0] * size if self._plain else np.zeros(size)
        if self._plain:
            return [_NONE] * size
        # Nodes without a sign where they come from moves.
        return np.zeros(size, np.uint32) if name == "entry" else np.full(size, _NONE, np.int32)

    def _make(self, numbers: list[int]) -> Flat:
        return numbers if self._plain else np.array(numbers, dtype=np.int32)


def _in_a_row(
    lists: Sequence[Sequence[int]], make: Callable[[list[int]], Flat]
) -> tuple[Flat, Flat]:
    """Return where each list begins in one row, and that row."""
    first = [*accumulate(map(len, lists), initial=0)]
    return make(first), make([*chain.from_iterable(lists)])


def _start(pair: Pair) -> tuple[int, ...]:
    return tuple(sorted(pair.sources))


def _end(pair: Pair) -> tuple[int, ...]:
    return tuple(sorted(pair.goals))
