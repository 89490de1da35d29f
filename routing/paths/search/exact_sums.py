"""Sums of many runs of numbers, each as exact as `math.fsum`, without a loop over the numbers."""

import math
from itertools import pairwise
from typing import Final

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from structures.frozen import frozen

__all__ = ["ExactSums", "sums_of_runs"]

_BITS: Final = 32
"""Bits after the point in the upper part of a number, and again in the lower part."""
_MOST: Final = 2.0 ** (63 - _BITS)
"""What a sum may come to in whole numbers of 64 bits."""


@frozen(kw_only=True, eq=False)
class ExactSums:
    """Numbers cut into two whole parts each, so that sums of them lose nothing."""

    terms: tuple[Floats, ...]
    """What makes up each number, shape (n,) each."""
    parts: tuple[Indices, Indices] | None
    """Units of 2^-32 and of 2^-64; None if some term is too large or has finer bits."""
    longest: int
    """Numbers in a run of which the sum is certain to fit."""

    @classmethod
    def of(cls, *terms: Floats) -> "ExactSums":
        """Cut up numbers that are sums of finite terms, shape (n,) each."""
        most = sum(float(np.abs(term).max(initial=0.0)) for term in terms)
        if not most < _MOST:
            return cls(terms=terms, parts=None, longest=0)
        upper, lower = np.zeros((2, len(terms[0])), dtype=np.int64)
        for term in terms:
            scaled = np.ldexp(term, _BITS)
            whole = np.floor(scaled)
            rest = np.ldexp(scaled - whole, _BITS)
            if (rest != np.floor(rest)).any():
                return cls(terms=terms, parts=None, longest=0)
            upper += whole.astype(np.int64)
            lower += rest.astype(np.int64)
        # One off for what rounding and the lower parts add.
        longest = int(min(_MOST / max(most, 1.0), _MOST)) - 1
        return cls(terms=terms, parts=(upper, lower), longest=longest)

    def runs(self, chosen: Indices, at: Indices) -> list[float]:
        """Return the sum of each run of chosen numbers.

        Parameters
        ----------
        chosen
            Numbers of the values, shape (m,).
        at
            Run i is ``chosen[at[i]:at[i + 1]]``, shape (k + 1,).

        Examples
        --------
        >>> sums = ExactSums.of(np.array([1e3, 0.1, -1e3, 0.2, 0.3]))
        >>> sums.runs(np.array([0, 1, 2, 1, 3, 4]), np.array([0, 3, 3, 6]))
        [0.1, 0.0, 0.6]
        """
        if self.parts is None or np.diff(at).max(initial=0) > self.longest:
            numbers = np.stack([term[chosen] for term in self.terms], axis=-1)
            return [math.fsum(numbers[a:b].ravel().tolist()) for a, b in pairwise(at.tolist())]
        upper, lower = (sums_of_runs(part[chosen], at).tolist() for part in self.parts)
        # Whole numbers of any size are divided with one rounding.
        return [
            ((high << _BITS) + low) / (1 << 2 * _BITS)
            for high, low in zip(upper, lower, strict=True)
        ]


def sums_of_runs(numbers: Indices, at: Indices) -> Indices:
    """Return the sum of each run of whole numbers, ``numbers[at[i]:at[i + 1]]``, shape (k,).

    Examples
    --------
    >>> sums_of_runs(np.array([5, 7, 1]), np.array([0, 2, 2, 3])).tolist()
    [12, 0, 1]
    """
    some = np.flatnonzero(np.diff(at))
    sums = np.zeros(len(at) - 1, dtype=np.int64)
    # What begins a run ends the one before: those without a number have to be left out.
    sums[some] = np.add.reduceat(numbers, at[some], dtype=np.int64) if len(some) else 0
    return sums
