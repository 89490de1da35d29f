"""Chains for several attach points at once from one kit: no tether is used twice.

A multiple-choice selection, solved exactly. Tethers of one kind are alike, so
all that counts of a set of chains is how many of each kind it uses.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from routing.worksites.ties.kit import TetherKit

__all__ = ["Choice", "Shortage", "choose_together", "shortage", "shortage_words"]


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to tie one attach point: tethers used of each kind, and the margin [m]."""

    used: tuple[int, ...]
    margin_m: float


@dataclass(frozen=True, slots=True)
class Shortage:
    """Why a kit does not do for all attach points at once."""

    most_tied: int
    """How many of them it ties at the same time."""
    lacking: tuple[int, ...]
    """The fewest more tethers, by kind, with which all can be tied by some of the choices."""


Counts = tuple[int | None, ...]


def choose_together(choices: Sequence[Sequence[Choice]], counts: Counts) -> tuple[int, ...] | None:
    """Pick one choice for each attach point so that the kit suffices.

    Fewest tethers in all; then the greatest least margin; then, attach point by
    attach point, the greatest margin, then the first choice.

    Parameters
    ----------
    choices
        For each attach point, in order.
    counts
        How many of each kind there are, ``None`` for as many as needed.

    Returns
    -------
    tuple of int or None
        Which choice of each attach point; ``None`` if the kit does not suffice.

    Notes
    -----
    Exact: for each set of numbers that the later attach points may be left
    with, the fewest tethers that tie them (`_fewest`); the least margin is then
    the largest one for which the fewest tethers are still as few.
    """
    if not choices:
        return ()
    rest = tuple(counts)
    fewest = _fewest(choices, rest, -float("inf"))
    if fewest is None:
        return None
    margins = sorted({choice.margin_m for some in choices for choice in some})
    low, high = 0, len(margins) - 1
    while low < high:
        middle = (low + high + 1) // 2
        if _fewest(choices, rest, margins[middle]) == fewest:
            low = middle
        else:
            high = middle - 1
    return _first_best(choices, rest, fewest, margins[low])


def _first_best(
    choices: Sequence[Sequence[Choice]], rest: Counts, fewest: int, floor_m: float
) -> tuple[int, ...]:
    """Pick attach point by attach point what leaves the optimum open."""
    picked = []
    for i, some in enumerate(choices):
        order = sorted(range(len(some)), key=lambda k: (-some[k].margin_m, k))
        for k in order:
            left = _taken(rest, some[k].used)
            if left is None or some[k].margin_m < floor_m:
                continue
            later = _fewest(choices[i + 1 :], left, floor_m)
            if later is not None and sum(some[k].used) + later == fewest:
                picked.append(k)
                rest, fewest = left, later
                break
    return tuple(picked)


def _fewest(choices: Sequence[Sequence[Choice]], rest: Counts, floor_m: float) -> int | None:
    """Return the fewest tethers that tie all, ``None`` if nothing does."""
    kept = [
        sorted({choice.used for choice in some if choice.margin_m >= floor_m}) for some in choices
    ]
    states: dict[Counts, int] = {rest: 0}
    for i, uses in enumerate(kept):
        # Tethers that cannot run out any more need not be counted: so there are fewer states.
        most = [
            sum(max((used[kind] for used in later), default=0) for later in kept[i + 1 :])
            for kind in range(len(rest))
        ]
        grown: dict[Counts, int] = {}
        for left, so_far in states.items():
            for used in uses:
                then = _taken(left, used)
                if then is not None:
                    then = _enough(then, most)
                    total = so_far + sum(used)
                    grown[then] = min(total, grown.get(then, total))
        states = grown
    return min(states.values(), default=None)


def _enough(rest: Counts, most: Sequence[int]) -> Counts:
    return tuple(
        None if have is None or have >= need else have
        for have, need in zip(rest, most, strict=True)
    )


def _taken(rest: Counts, used: tuple[int, ...]) -> Counts | None:
    left = tuple(None if have is None else have - n for have, n in zip(rest, used, strict=True))
    return None if any(have is not None and have < 0 for have in left) else left


def shortage(choices: Sequence[Sequence[Choice]], counts: Counts) -> Shortage:
    """Return what a kit lacks that does not suffice for all attach points at once.

    Parameters
    ----------
    choices
        For each attach point what could be tied there if it were the only one.
    counts
        How many of each kind there are.
    """
    nothing = Choice((0,) * len(counts), 0.0)
    most = 0
    states: dict[Counts, int] = {tuple(counts): 0}
    used_up: set[tuple[int, ...]] = {nothing.used}
    for some in choices:
        uses = sorted({choice.used for choice in some})
        grown: dict[Counts, int] = dict(states)
        for left, tied in states.items():
            for used in uses:
                then = _taken(left, used)
                if then is not None:
                    grown[then] = max(grown.get(then, 0), tied + 1)
        states = grown
        most = max(most, *states.values())
        used_up = {
            tuple(a + b for a, b in zip(have, used, strict=True))
            for have in used_up
            for used in uses
        }
    lacks = [
        tuple(0 if n is None else max(used - n, 0) for used, n in zip(total, counts, strict=True))
        for total in used_up
    ]
    return Shortage(most, min(lacks, key=lambda lack: (sum(lack), [-n for n in lack]), default=()))


def shortage_words(kit: TetherKit, choices: Sequence[Sequence[Choice]]) -> str:
    """Say why a kit does not do for all attach points at once, and what would."""
    found = shortage(choices, kit.counts)
    have = ", ".join(f"{one.count} x {one.id}" for one in kit.tethers if one.count is not None)
    why = (
        f"the kit ({have}) ties {found.most_tied} of {len(choices)} attach points at the same "
        "time, as no tether can be used twice"
    )
    more = [f"{n} more {one.id}" for n, one in zip(found.lacking, kit.tethers, strict=False) if n]
    return f"{why}; {' and '.join(more)} would do" if more else why
