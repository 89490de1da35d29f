"""The fewest vantage points that together see all that can be seen: exact set cover.

Sets are bit masks. Branch and bound, deeper by one set at a time: the sample
seen from the fewest places is covered first, and a branch ends as soon as the
sets left cannot cover the rest even if they did not overlap, or cost more than
the best found. What is contained in a set that costs no more is left out first,
which loses no best answer.
"""

from collections.abc import Sequence

__all__ = ["fewest_cover"]


def fewest_cover(sets: Sequence[int], costs: Sequence[float]) -> tuple[int, ...]:
    """Return the indices of the fewest sets with the same union as all, at the least cost.

    Parameters
    ----------
    sets
        What each set holds, as bits.
    costs
        What each costs, zero or more; it decides among covers of the same size.

    Returns
    -------
    tuple of int
        Ascending. Among covers of the same size and cost one that the search
        meets first, which depends on the input alone.

    Examples
    --------
    >>> fewest_cover([0b0011, 0b1100, 0b0110, 0b1111], [1.0, 1.0, 1.0, 5.0])
    (3,)
    >>> fewest_cover([0b0011, 0b1100, 0b0110], [1.0, 1.0, 1.0])
    (0, 1)
    """
    whole = 0
    for one in sets:
        whole |= one
    if not whole:
        return ()
    kept = _undominated(sets, costs)
    for size in range(1, len(kept) + 1):
        search = _Search(sets, costs, kept)
        search.go(whole, size, (), 0.0)
        if search.best is not None:
            return tuple(sorted(search.best))
    raise AssertionError("all sets together cover their union")


def _undominated(sets: Sequence[int], costs: Sequence[float]) -> list[int]:
    """Return the sets that no other contains at no more cost, larger and cheaper first."""
    order = sorted(
        (i for i in range(len(sets)) if sets[i]), key=lambda i: (-sets[i].bit_count(), costs[i], i)
    )
    kept: list[int] = []
    for i in order:
        if not any(sets[i] & ~sets[k] == 0 and costs[k] <= costs[i] for k in kept):
            kept.append(i)
    return kept


class _Search:
    """One depth of the search."""

    def __init__(self, sets: Sequence[int], costs: Sequence[float], kept: list[int]) -> None:
        self.sets, self.costs, self.kept = sets, costs, kept
        self.largest = max(sets[i].bit_count() for i in kept)
        self.best: tuple[int, ...] | None = None
        self.best_cost = float("inf")
        holders: dict[int, list[int]] = {}
        for i in kept:
            rest = sets[i]
            while rest:
                bit = rest & -rest
                holders.setdefault(bit, []).append(i)
                rest ^= bit
        self.holders = sorted(holders.items(), key=lambda one: (len(one[1]), one[0]))

    def go(self, rest: int, left: int, chosen: tuple[int, ...], cost: float) -> None:
        """Cover the rest with at most so many more sets."""
        if not rest:
            if cost < self.best_cost:
                self.best, self.best_cost = chosen, cost
            return
        if left * self.largest < rest.bit_count() or cost >= self.best_cost:
            return
        _, sets = next(one for one in self.holders if rest & one[0])
        for i in sets:
            self.go(rest & ~self.sets[i], left - 1, (*chosen, i), cost + self.costs[i])
