"""Handrails that are in the data twice."""

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from structures.findings import Finding
from structures.inspection.rails import MeasuredRail

__all__ = ["SAME_LINE_M", "SHARED_PART", "check_duplicate_rails"]

SAME_LINE_M = 0.02
"""Two rails nearer than this cannot both be there: a rail is about as thick [m]."""

SHARED_PART = 0.5
"""Part of the shorter rail's length on the other one from which they are one rail twice."""

_STEP_M = 0.05


def check_duplicate_rails(measured: Iterable[MeasuredRail]) -> Iterator[Finding]:
    """Find pairs of handrails that lie on each other along most of the shorter one."""
    rails = tuple(measured)
    for i, j in _pairs_that_may_touch(rails):
        short, other = (
            (rails[j], rails[i])
            if rails[j].line.length_m <= rails[i].line.length_m
            else (rails[i], rails[j])
        )
        share = _shared_part(short, other)
        if share < SHARED_PART:
            continue
        yield Finding(
            code="handrail-duplicate",
            severity="warns",
            elements=(short.handrail.id, other.handrail.id),
            message=(
                f"handrail {short.handrail.id} lies on handrail {other.handrail.id} along "
                f"{share:.0%} of its length (within {SAME_LINE_M} m); closing one would leave "
                "the other open in the model though it is the same rail; drop one of the two"
            ),
            value=share,
            limit=SHARED_PART,
            unit="1",
        )


def _shared_part(short: MeasuredRail, other: MeasuredRail) -> float:
    """Return the part of one rail's length that is on the other, 0..1."""
    edges = short.line.samples_m(_STEP_M)
    middles = (edges[1:] + edges[:-1]) / 2
    lengths = edges[1:] - edges[:-1]
    on = other.line.gap_to_m(short.line.points_at(middles)) <= SAME_LINE_M
    return float(lengths[on].sum() / lengths.sum())


def _pairs_that_may_touch(rails: tuple[MeasuredRail, ...]) -> Iterator[tuple[int, int]]:
    """Yield the pairs (i < j) whose bounding boxes come within `SAME_LINE_M`."""
    if not rails:
        return
    low = np.array([rail.line.points_m.min(axis=0) for rail in rails])
    high = np.array([rail.line.points_m.max(axis=0) for rail in rails]) + SAME_LINE_M
    order = np.argsort(low[:, 0], kind="stable")
    until = np.searchsorted(low[order, 0], high[order, 0], side="right")
    found: list[tuple[int, int]] = []
    for place, stop in enumerate(until):
        i = int(order[place])
        others: NDArray[np.int64] = order[place + 1 : stop]
        near = (low[others] <= high[i]).all(axis=1) & (low[i] <= high[others]).all(axis=1)
        found.extend((min(i, int(j)), max(i, int(j))) for j in others[near])
    yield from sorted(found)
