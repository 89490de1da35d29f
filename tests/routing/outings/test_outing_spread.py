"""The spread of an outing: against closed forms, moments, and one run after another."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routing.outings.clock.network import time_network
from routing.outings.clock.schedule import MINUTE_S, releases_of, spread_s
from routing.outings.clock.spread import pert_beta_s, sample_durations_s, spread_of
from routing.outings.plan import PlannedOuting
from tests.routing.outings.outing_plans import act, planned

LOW, USUAL, HIGH = 3.0, 5.0, 10.0


def in_a_row(folder: Path, count: int) -> PlannedOuting:
    """Plan acts at the hatch one after another: no ways, nothing beside."""
    parts = [
        act(f"k{i:02d}", "EV1", "work", at="hatch", minutes=[LOW, USUAL, HIGH])
        for i in range(count)
    ]
    return planned(folder, *parts)


def test_moments_of_one_duration_are_those_of_pert() -> None:
    """Mean (a + 4m + b)/6: Malcolm, Roseboom, Clark, Fazar 1959, from memory.

    Variance (mean - a)(b - mean)/7 follows from the beta distribution with shapes
    that add up to 6.
    """
    sample = pert_beta_s(LOW, USUAL, HIGH, 400_000, np.random.default_rng(7))
    mean = (LOW + 4 * USUAL + HIGH) / 6
    variance = (mean - LOW) * (HIGH - mean) / 7
    # Five standard errors of the mean and of the variance.
    assert sample.mean() == pytest.approx(mean, abs=5 * (variance / 400_000) ** 0.5)
    assert sample.var() == pytest.approx(variance, rel=0.02)
    assert sample.min() >= LOW
    assert sample.max() <= HIGH
    counts, edges = np.histogram(sample, bins=70)
    mode = edges[int(counts.argmax())]
    assert mode == pytest.approx(USUAL, abs=0.4)


def test_a_row_of_acts_tends_to_the_normal_distribution(tmp_path: Path) -> None:
    """Sums: means and variances add up, quantiles tend to the normal ones."""
    count = 40
    spread = spread_of(in_a_row(tmp_path, count).schedule, 40_000, 3)
    assert spread is not None
    mean = (LOW + 4 * USUAL + HIGH) / 6
    variance = (mean - LOW) * (HIGH - mean) / 7
    total_s = MINUTE_S * count * mean
    deviation_s = MINUTE_S * (count * variance) ** 0.5
    assert spread.mean_s == pytest.approx(total_s, abs=5 * deviation_s / 200)
    assert spread.deviation_s == pytest.approx(deviation_s, rel=0.03)
    assert spread.p50_s == pytest.approx(total_s, abs=0.06 * deviation_s)
    assert spread.p90_s == pytest.approx(total_s + 1.281552 * deviation_s, abs=0.06 * deviation_s)
    shares = [one.share_of_variance for one in spread.drivers]
    assert sum(shares) == pytest.approx(1.0)
    assert max(shares) == pytest.approx(1 / count, abs=0.01)
    assert all(one.critical_share == 1.0 for one in spread.drivers)


def test_all_samples_at_once_are_one_run_after_another(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        act("a", "EV1", "work", at="W1", minutes=[5, 9, 20]),
        act("b", "EV2", "work", at="H01", minutes=[6, 8, 22], no_earlier_min=4),
        act("g", "ground", "action", minutes=[1, 7, 9], after=["a"]),
        act("c", "EV1+EV2", "work", at="H02", minutes=[2, 3, 4], after=["g"]),
    )
    network, releases_s = plan.plan.network, releases_of(plan.plan)
    durations_s = sample_durations_s(plan.schedule, 200, np.random.default_rng(5))
    at_once = time_network(network, durations_s, releases_s)
    for i, one in enumerate(durations_s.T):
        alone = time_network(network, one, releases_s)
        assert (at_once.earliest_finish_s[:, i] == alone.earliest_finish_s).all()
        assert (at_once.slack_s[:, i] == alone.slack_s).all()
    low, _, high = np.array([spread_s(plan.plan, plan.leg, one) for one in network.ids]).T
    assert (durations_s >= low[:, None] - 1e-9).all()
    assert (durations_s <= high[:, None] + 1e-9).all()


def test_the_same_seed_gives_the_same_and_another_one_does_not(tmp_path: Path) -> None:
    schedule = in_a_row(tmp_path, 3).schedule
    assert spread_of(schedule, 500, 1) == spread_of(schedule, 500, 1)
    assert spread_of(schedule, 500, 1) != spread_of(schedule, 500, 2)


def test_a_missing_way_leaves_the_spread_unknown(tmp_path: Path) -> None:
    plan = planned(tmp_path, act("k", "EV1", "work", at="W1", minutes=[1, 2, 3]))
    assert spread_of(plan.schedule, 10, 1) is not None
    lost = {way: replace(trip, route=None) for way, trip in plan.leg.trips.items()}
    leg = replace(plan.leg, trips=lost)
    assert spread_of(replace(plan.schedule, leg=leg), 10, 1) is None
