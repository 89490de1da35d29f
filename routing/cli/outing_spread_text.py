"""The spread of an outing's times as text."""

from collections.abc import Iterator
from typing import Final

from routing.outings.told.results import OutingAnswer
from routing.outings.told.times_said import duration

__all__ = ["spread_lines"]

_MOST_DRIVERS: Final = 5
"""All of them are in the JSON."""


def spread_lines(answer: OutingAnswer) -> Iterator[str]:
    """Yield the spread of an outing, line by line; times are rounded up, which is the safe side."""
    spread = answer.spread
    if spread is None:
        yield "Spread: not known, because a way was not found."
        return
    yield (
        f"Spread ({spread.distribution}, {spread.samples} samples, seed {spread.seed}; ways do not "
        f"spread): P50 {duration(spread.p50_s)}, P90 {duration(spread.p90_s)}, mean "
        f"{duration(spread.mean_s)}, deviation {spread.deviation_s / 60:.1f} min"
    )
    yield (
        f"  longer than planned in {spread.over_planned:.1%} of the samples, than what the suits "
        f"hold in {spread.over_consumables:.1%}"
    )
    for one in spread.milestones:
        yield f"  {one.gate}: P50 {duration(one.p50_s)}, P90 {duration(one.p90_s)}"
    drivers = spread.drivers[:_MOST_DRIVERS]
    if drivers:
        yield "  driven by " + ", ".join(
            f"{one.act} ({one.share_of_variance:.0%} of the variance, critical in "
            f"{one.critical_share:.0%})"
            for one in drivers
        )
