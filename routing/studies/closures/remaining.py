"""What remains to a goal at least, with some grips closed: it leads the exact searches."""

from collections import OrderedDict
from collections.abc import Sequence
from typing import Final

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Arcs, Network
from routing.paths.search.buckets import seconds_from
from routing.paths.search.engine import Engine, compiled
from routing.paths.search.fallen_kernel import fill_fallen
from routing.paths.search.open_trees import OpenTrees
from routing.paths.search.tree_kernel import OpenTree

__all__ = ["Remaining"]

_KEPT_TREES: Final = 64
"""Goals of which the tree is kept for the next closure."""


class Remaining:
    """Least cost from every node of a network to some goals, whatever is closed.

    It only leads searches; users take rounding off before they do.
    """

    def __init__(self, network: Network, *, engine: Engine) -> None:
        self._reverse = network.reverse
        self._plain = engine != "compiled"
        self._open = OpenTrees(self._reverse, plain=self._plain)
        self._trees: OrderedDict[tuple[int, ...], OpenTree] = OrderedDict()
        self._arcs: Arcs | None = None

    def to(self, goals: Indices) -> Floats:
        """Return the least cost from every node to the nearest goal, shape (n,).

        Infinite wherever no way leads from.
        """
        if self._plain:
            return self._open.costs(goals.tolist())
        return seconds_from(self._reverse, goals)

    def without(self, closed: Sequence[int], goals: Indices) -> Floats:
        """Return the same with nodes closed that nobody may be at, goals among them or not.

        Only what hangs on the closed nodes in the tree of least costs is worked out anew.
        """
        tree = self._tree(tuple(goals.tolist()))
        arcs, back = self._moves, self._open.backwards
        if self._plain:
            distance = tree.distance.copy()
            room: tuple[list[int], list[int]] = ([0] * len(closed), [0] * len(closed))
            fill_fallen(arcs, back, tree, list(closed), distance, room)
            return np.array(distance)
        remaining: Floats = tree.distance.copy()
        shut = np.array(closed, dtype=np.int32)
        compiled(fill_fallen)(
            arcs, back, tree, shut, remaining, (np.empty_like(shut), np.empty_like(shut))
        )
        return remaining

    @property
    def _moves(self) -> Arcs:
        if self._arcs is None:
            reverse = self._reverse
            self._arcs = reverse.lists if self._plain else reverse.compact
        return self._arcs

    def _tree(self, goals: tuple[int, ...]) -> OpenTree:
        if goals in self._trees:
            self._trees.move_to_end(goals)
        else:
            self._trees[goals] = self._open.tree(goals)
            if len(self._trees) > _KEPT_TREES:
                self._trees.popitem(last=False)
        return self._trees[goals]
