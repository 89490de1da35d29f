"""What the answer to an outing says about the spread of its times."""

from typing import Final, Literal

from routing.paths.answers.results import Result

__all__ = ["MOST_SAMPLES", "MilestoneSpread", "OutingSpread", "SpreadDriver"]

MOST_SAMPLES: Final = 200_000
"""So many durations of all acts are kept in memory at most."""


class MilestoneSpread(Result):
    """When a gate opens."""

    gate: str
    p50_s: float
    p90_s: float


class SpreadDriver(Result):
    """How much one act has to do with the spread of the total."""

    act: str
    share_of_variance: float
    """Covariance of its duration with the total over the variance of the total."""
    critical_share: float
    """In how large a part of the samples a delay of it delays the end."""


class OutingSpread(Result):
    """The length of the outing when durations spread between low and high; ways do not."""

    distribution: Literal["PERT-beta"] = "PERT-beta"
    samples: int
    seed: int
    mean_s: float
    deviation_s: float
    p50_s: float
    """Half of the samples are done by then."""
    p90_s: float
    """Nine of ten samples are done by then."""
    over_planned: float
    """Part of the samples longer than the planned length."""
    over_consumables: float
    milestones: tuple[MilestoneSpread, ...] = ()
    drivers: tuple[SpreadDriver, ...] = ()
    """Acts with a spread, those that drive the total's most first."""
