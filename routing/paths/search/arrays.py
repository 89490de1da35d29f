"""Networks as flat sequences: what every search kernel reads.

A network is the reach graph after a tether protocol has had its say: moves
that are not allowed are gone, and what the protocol adds to a move is in its
cost. Nodes keep the numbers of their grips.
"""

import functools
from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from typing import Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from routing.graph.reach_graph import Floats, Indices, Moves
from structures.frozen import frozen

__all__ = ["Arcs", "Flags", "Flat", "Network", "node_flags"]

Flags: TypeAlias = NDArray[np.int8]
Flat: TypeAlias = Any
"""A list in the plain engine, an array in the compiled one."""


class Arcs(NamedTuple):
    """What a kernel reads: moves by tail, and the nodes that are not passed through."""

    indptr: Flat
    head: Flat
    cost: Flat
    terminal: Flat


@frozen(kw_only=True, eq=False)
class Network:
    """Allowed moves in CSR form, sorted by (tail, head).

    Parameters
    ----------
    indptr
        Moves of node i are ``indptr[i]:indptr[i + 1]``, shape (n + 1,).
    head
        Where each move ends, shape (m,).
    cost
        Seconds, or whatever is minimised, finite and not negative, shape (m,).
    terminal
        1 for nodes that are left only by who starts there (sockets), shape (n,).
    move
        Number of each move in the reach graph it comes from, shape (m,).
    """

    indptr: Indices
    head: Indices
    cost: Floats
    terminal: Flags
    move: Indices

    def __post_init__(self) -> None:
        """Refuse costs no search can be right with."""
        wrong = np.flatnonzero(~(np.isfinite(self.cost) & (self.cost >= 0)))
        if len(wrong):
            raise ValueError(
                f"move {int(wrong[0])} costs {self.cost[wrong[0]]}; "
                "every cost must be finite and not negative"
            )

    def __len__(self) -> int:
        return len(self.indptr) - 1

    @classmethod
    def of_moves(
        cls,
        moves: Moves,
        *,
        extra_s: Floats | None = None,
        allowed: NDArray[np.bool_] | None = None,
        terminal: Iterable[int] = (),
    ) -> "Network":
        """Make the network of a reach graph's moves.

        Parameters
        ----------
        extra_s
            What the protocol adds to each move, shape (m,) [s].
        allowed
            Which moves the protocol allows, shape (m,); all by default.
        terminal
            Grips that are start or goal but never passed through (sockets).
        """
        cost = moves.seconds if extra_s is None else moves.seconds + extra_s
        nodes = len(moves.indptr) - 1
        tail = np.repeat(np.arange(nodes), np.diff(moves.indptr))
        keep = np.arange(len(moves)) if allowed is None else np.flatnonzero(allowed)
        indptr = np.searchsorted(tail[keep], np.arange(nodes + 1))
        return cls(
            indptr=indptr.astype(np.int64),
            head=np.ascontiguousarray(moves.head[keep], dtype=np.int64),
            cost=np.ascontiguousarray(cost[keep], dtype=np.float64),
            terminal=node_flags(nodes, terminal),
            move=keep.astype(np.int64),
        )

    @classmethod
    def of_arcs(
        cls,
        nodes: int,
        arcs: Iterable[tuple[int, int, float]],
        *,
        terminal: Iterable[int] = (),
    ) -> "Network":
        """Make a network of (tail, head, cost) triples; ``move`` is their position.

        Examples
        --------
        >>> Network.of_arcs(3, [(1, 2, 2.0), (0, 1, 1.0)]).move.tolist()
        [1, 0]
        """
        listed = list(arcs)
        tail = np.array([arc[0] for arc in listed], dtype=np.int64)
        head = np.array([arc[1] for arc in listed], dtype=np.int64)
        cost = np.array([arc[2] for arc in listed], dtype=np.float64)
        order = np.lexsort((np.arange(len(listed)), head, tail))
        return cls(
            indptr=np.searchsorted(tail[order], np.arange(nodes + 1)).astype(np.int64),
            head=head[order],
            cost=cost[order],
            terminal=node_flags(nodes, terminal),
            move=order.astype(np.int64),
        )

    @functools.cached_property
    def tail(self) -> Indices:
        """Where each move starts, shape (m,)."""
        return np.repeat(np.arange(len(self), dtype=np.int64), np.diff(self.indptr))

    @functools.cached_property
    def reverse(self) -> "Network":
        """The same moves the other way round; its ``move`` counts moves of this network."""
        order = np.lexsort((self.tail, self.head))
        return Network(
            indptr=np.searchsorted(self.head[order], np.arange(len(self) + 1)).astype(np.int64),
            head=self.tail[order],
            cost=self.cost[order],
            terminal=self.terminal,
            move=order.astype(np.int64),
        )

    @functools.cached_property
    def arrays(self) -> Arcs:
        """The moves for the compiled engine."""
        return Arcs(self.indptr, self.head, self.cost, self.terminal)

    @functools.cached_property
    def compact(self) -> Arcs:
        """The moves for the compiled engine in half the memory: more of them are at hand.

        Numbers have no sign: the compiler then leaves out what a negative place would mean.
        """
        return Arcs(
            self.indptr.astype(np.uint32), self.head.astype(np.uint32), self.cost, self.terminal
        )

    @functools.cached_property
    def lists(self) -> Arcs:
        """The moves for the plain engine: reading an array element by element is slow."""
        return Arcs(*(array.tolist() for array in self.arrays))

    def with_cost(self, cost: Floats) -> "Network":
        """Return the network with other costs on its moves, shape (m,)."""
        network = Network(
            indptr=self.indptr,
            head=self.head,
            cost=np.ascontiguousarray(cost, dtype=np.float64),
            terminal=self.terminal,
            move=self.move,
        )
        if "lists" in self.__dict__:
            # All but the costs is shared.
            network.__dict__["lists"] = self.lists._replace(cost=network.cost.tolist())
        return network

    def with_terminal(self, terminal: Flags) -> "Network":
        """Return the network with other nodes that are not passed through, shape (n,)."""
        network = Network(
            indptr=self.indptr, head=self.head, cost=self.cost, terminal=terminal, move=self.move
        )
        # Searches that close a few nodes each share the long lists.
        network.__dict__["lists"] = self.lists._replace(terminal=terminal.tolist())
        return network

    def without(self, *, nodes: Iterable[int] = (), moves: Iterable[int] = ()) -> "Network":
        """Return the network without these nodes' moves and these of its own moves."""
        gone = node_flags(len(self), nodes).astype(bool)
        keep = ~(gone[self.tail] | gone[self.head])
        keep[list(moves)] = False
        kept = np.flatnonzero(keep)
        return Network(
            indptr=np.searchsorted(self.tail[kept], np.arange(len(self) + 1)).astype(np.int64),
            head=self.head[kept],
            cost=self.cost[kept],
            terminal=self.terminal,
            move=self.move[kept],
        )

    def find_move(self, tail: int, head: int) -> int | None:
        """Return the cheapest move from one node to another, or None if there is none."""
        # A grip has few moves: a list of them is searched sooner than numpy is called.
        first, last = int(self.indptr[tail]), int(self.indptr[tail + 1])
        heads = self.head[first:last].tolist()
        low, high = first + bisect_left(heads, head), first + bisect_right(heads, head)
        if low == high:
            return None
        return low if high == low + 1 else low + int(np.argmin(self.cost[low:high]))


def node_flags(nodes: int, marked: Iterable[int]) -> Flags:
    """Return 1 for the marked nodes, 0 for the others, shape (n,)."""
    flags = np.zeros(nodes, dtype=np.int8)
    flags[list(marked)] = 1
    return flags
