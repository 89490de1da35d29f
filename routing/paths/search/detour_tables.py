"""What `detour_kernel` is given and what it writes to, in flat sequences."""

from typing import NamedTuple

from routing.paths.search.arrays import Flat

__all__ = ["Cases", "Found", "Labels"]


class Cases(NamedTuple):
    """Which searches are made.

    The nodes of number i of a kind are ``nodes[first[i]:first[i + 1]]``.
    """

    shut_first: Flat
    shut: Flat
    """Nodes that each closure closes."""
    goal_first: Flat
    goal: Flat
    """Nodes that each pair may lead to."""
    tree: Flat
    """Row of the tree that each pair begins with."""
    bound: Flat
    """Row of what remains to the goals of each pair with nothing closed, never too much."""
    closure: Flat
    """Closure of each search."""
    pair: Flat
    """Pair of each search."""


class Labels(NamedTuple):
    """Labels of length n; ``..._in`` is the number of the search that wrote, -1 at first."""

    distance: Flat
    hops: Flat
    parent: Flat
    step: Flat
    waiting: Flat
    seen_in: Flat
    goal_in: Flat
    top: Flat
    """Room for the places at which what has fallen off begins."""
    bottom: Flat
    """Room for where each of these ends."""
    entry: Flat
    """Room for the nodes that moves lead to from the tree."""


class Found(NamedTuple):
    """Where answers are written."""

    goal: Flat
    """Goal reached by each search, -1 if none is."""
    first: Flat
    """Moves of search i are ``steps[first[i]:first[i + 1]]``."""
    steps: Flat
