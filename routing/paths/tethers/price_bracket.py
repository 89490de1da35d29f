"""A limit on one sum over a route, turned into a price on it.

A price on what is limited gives the best route at that price, and with it a bound: nothing
within the limit costs less. The price is moved until it can say no more.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Generic, TypeAlias, TypeVar

__all__ = ["MOST_PRICES", "Bracket", "Priced", "find_bracket"]

MOST_PRICES: Final = 12
"""Prices tried at most; what they prove holds with any."""

SAME: Final = 1e-9
"""Sums that differ by this part are equal but for rounding."""

Path = TypeVar("Path")


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced(Generic[Path]):
    """A path at some price, by its own two sums."""

    path: Path
    cost: float
    used: float
    slack: float = 0.0
    """By at most this much another path may come to less at that price."""


Search: TypeAlias = Callable[[float, float], Priced[Path] | None]
"""Best path by (weight of the cost, weight of what is used), None if there is no path at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bracket(Generic[Path]):
    """What the prices say: a path within the limit, the last price, and a bound."""

    best: Priced[Path]
    rate: float
    least: float
    """Nothing within the limit costs less, but for rounding."""

    @property
    def is_best(self) -> bool:
        """Whether nothing within the limit can cost less."""
        return self.best.cost <= self.least * (1 + SAME)


def find_bracket(
    search: Search[Path], limit: float, *, most_prices: int = MOST_PRICES
) -> Bracket[Path] | None:
    """Move the price until it can say no more; None when nothing is within the limit.

    Examples
    --------
    >>> ways = [Priced(path=name, cost=c, used=u) for name, c, u in
    ...     [("quick", 1.0, 9.0), ("between", 4.0, 4.0), ("frugal", 9.0, 1.0)]]
    >>> found = find_bracket(lambda a, b: min(ways, key=lambda w: a * w.cost + b * w.used), 5.0)
    >>> found.best.path, round(found.least, 6)
    ('between', 3.4)
    """
    cheap = search(1.0, 0.0)
    if cheap is None:
        return None
    if cheap.used <= limit:
        return Bracket(best=cheap, rate=0.0, least=cheap.cost - cheap.slack)
    within = search(0.0, 1.0)
    if within is None or within.used > limit:
        return None
    rate, least = 0.0, cheap.cost - cheap.slack
    for _ in range(most_prices):
        rate = (within.cost - cheap.cost) / (cheap.used - within.used)
        if rate <= 0:
            # Only where a search could not prove its path best.
            break
        found = search(1.0, rate)
        if found is None:
            raise AssertionError("a price shuts no way")
        priced = found.cost + rate * found.used
        least = max(least, priced - found.slack - rate * limit)
        if priced >= (within.cost + rate * within.used) * (1 - SAME):
            break
        if found.used <= limit:
            within = found
        else:
            cheap = found
    return Bracket(best=within, rate=rate, least=least)
