"""How much the times of an outing spread: P50 and P90 by sampling, and what drives them.

Each act's duration follows the PERT-beta distribution of its low, usual and high
value; ways take what the router says. All samples go through the activity network
at once.
"""

from typing import Final

import numpy as np

from routing.outings.clock.activity_plan import ALL_DONE
from routing.outings.clock.network import SLACK_ZERO_S, Floats, time_network
from routing.outings.clock.schedule import MINUTE_S, Schedule, releases_of, spread_s
from routing.outings.clock.spread_records import MilestoneSpread, OutingSpread, SpreadDriver

__all__ = ["pert_beta_s", "sample_durations_s", "spread_of"]

_AT_ONCE: Final = 10_000
"""Samples worked out together: more would take more memory and no less time."""


def pert_beta_s(
    low_s: float, usual_s: float, high_s: float, count: int, random: np.random.Generator
) -> Floats:
    """Return samples of one duration, shape (count,) [s].

    The beta distribution on [low, high] with shapes 1 + 4 (usual - low) / (high - low) and
    1 + 4 (high - usual) / (high - low): its mode is the usual value, its mean
    (low + 4 usual + high) / 6 as in Malcolm, Roseboom, Clark, Fazar, Operations Research 7(5),
    1959 (from memory), its variance (mean - low) (high - mean) / 7.

    Examples
    --------
    >>> pert_beta_s(60.0, 60.0, 60.0, 2, np.random.default_rng(1)).tolist()
    [60.0, 60.0]
    """
    wide_s = high_s - low_s
    if wide_s <= 0:
        return np.full(count, usual_s)
    first, second = 1 + 4 * (usual_s - low_s) / wide_s, 1 + 4 * (high_s - usual_s) / wide_s
    sampled: Floats = low_s + wide_s * random.beta(first, second, count)
    return sampled


def sample_durations_s(schedule: Schedule, count: int, random: np.random.Generator) -> Floats:
    """Return sampled durations of all activities in network order, shape (n, count) [s]."""
    plan, leg = schedule.plan, schedule.leg
    return np.array(
        [pert_beta_s(*spread_s(plan, leg, one), count, random) for one in plan.network.ids]
    )


def spread_of(schedule: Schedule, samples: int, seed: int) -> OutingSpread | None:
    """Sample the durations of an outing and return how its times spread.

    Parameters
    ----------
    samples
        How many; at least 2.
    seed
        The same seed gives the same numbers.

    Returns
    -------
    OutingSpread or None
        None where a way is missing: its time is not known, and so no total is.
    """
    trips = (*schedule.leg.trips.values(), *schedule.leg.laying.values())
    if any(trip.route is None for trip in trips):
        return None
    random = np.random.default_rng(seed)
    network, outing = schedule.plan.network, schedule.plan.outing
    spread = [
        one
        for one in network.ids
        if spread_s(schedule.plan, schedule.leg, one)[0]
        < spread_s(schedule.plan, schedule.leg, one)[2]
    ]
    rows = [network.index[one] for one in spread]
    marks = [network.index[one] for one in (*(g.id for g in outing.gates), ALL_DONE)]
    releases_s = releases_of(schedule.plan)
    done: list[Floats] = []
    long: list[Floats] = []
    critical = np.zeros(len(rows))
    for first in range(0, samples, _AT_ONCE):
        durations_s = sample_durations_s(schedule, min(_AT_ONCE, samples - first), random)
        times = time_network(network, durations_s, releases_s)
        done.append(times.earliest_finish_s[marks])
        long.append(durations_s[rows])
        critical += (times.slack_s[rows] < SLACK_ZERO_S).sum(axis=1)
    ends_s = np.concatenate(done, axis=1)
    total_s = ends_s[-1] + MINUTE_S * (outing.blocks.ingress_min + outing.blocks.before_repress_min)
    limits = outing.outing_limits
    return OutingSpread(
        samples=samples,
        seed=seed,
        mean_s=float(total_s.mean()),
        deviation_s=float(total_s.std(ddof=1)),
        p50_s=float(np.quantile(total_s, 0.5)),
        p90_s=float(np.quantile(total_s, 0.9)),
        over_planned=float((total_s > MINUTE_S * limits.planned_min).mean()),
        over_consumables=float((total_s > MINUTE_S * limits.consumables_min).mean()),
        milestones=tuple(
            MilestoneSpread(
                gate=gate.id,
                p50_s=float(np.quantile(one, 0.5)),
                p90_s=float(np.quantile(one, 0.9)),
            )
            for gate, one in zip(outing.gates, ends_s, strict=False)
        ),
        drivers=_drivers(spread, np.concatenate(long, axis=1), total_s, critical / samples),
    )


def _drivers(
    ids: list[str], durations_s: Floats, total_s: Floats, critical: Floats
) -> tuple[SpreadDriver, ...]:
    """Return all acts that are spread, those with the largest share of the variance first.

    The share is cov(duration, total) / var(total): for acts in a row they add up to 1.
    """
    off_s = total_s - total_s.mean()
    variance = float(off_s @ off_s)
    shares = (durations_s - durations_s.mean(axis=1, keepdims=True)) @ off_s
    found = [
        SpreadDriver(
            act=one,
            share_of_variance=float(share) / variance if variance > 0 else 0.0,
            critical_share=float(often),
        )
        for one, share, often in zip(ids, shares, critical, strict=True)
    ]
    return tuple(sorted(found, key=lambda one: (-one.share_of_variance, one.act)))
