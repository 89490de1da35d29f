"""What planning the example outing costs, against the bare exact searches that it needs."""

import statistics
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from routing.outings.clock.network import time_network
from routing.outings.clock.schedule import releases_of
from routing.outings.clock.spread import sample_durations_s, spread_of
from routing.outings.plan import work_out
from routing.outings.plan_file.reader import read_outing
from routing.outings.safety.home_times import HomeTimes
from routing.outings.safety.moments import moments_of
from routing.outings.translations import Ground
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.outfit import make_outfit
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.search import find_tethered_path

EXAMPLE = Path(__file__).parents[2] / "examples" / "station" / "outing.toml"


def median_s(work: Callable[[], object], runs: int = 3) -> float:
    return statistics.median(processor_s(work) for _ in range(runs))


def processor_s(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


@pytest.mark.benchmark
def test_planning_against_bare_searches() -> None:
    document = read_outing(EXAMPLE)

    def plan() -> Ground:
        ground = Ground(document.structure, document.outing, document.limits)
        work_out(document.outing, ground)
        return ground

    ground = plan()
    planned = work_out(document.outing, ground)
    problems = []
    for trip in [*planned.leg.trips.values(), *planned.leg.laying.values()]:
        if trip.manner != "best" or trip.begins is None or trip.ends is None:
            continue
        graph = ground.graph(trip.person, trip.carry, trip.when)
        kit = next(one for one in planned.answer.people if one.person == trip.person).reels_m
        outfit = make_outfit(graph, Kit(reels_m=kit))
        problems.append((reel_ground(graph), outfit.rules, trip))

    def search() -> None:
        for on, rules, trip in problems:
            assert trip.begins is not None
            assert trip.ends is not None
            problem = TetherProblem(ground=on, rules=rules, starts=trip.begins.tethers)
            assert find_tethered_path(problem, [int(trip.ends.grip or 0)]) is not None

    def build() -> None:
        fresh = Ground(document.structure, document.outing, document.limits)
        fresh.expect(ground.situations)
        for key in ground.situations:
            fresh.graph(*key)

    changed = document.outing.model_copy(
        update={
            "acts": tuple(
                act.model_copy(update={"minutes": (40.0, 50.0, 60.0)}) if act.id == "bolt" else act
                for act in document.outing.acts
            )
        }
    )
    moments = [
        (one, moments_of(planned.schedule, ground, planned.stock, one.id))
        for one in document.outing.people
    ]

    def homes() -> None:
        fresh = HomeTimes(ground)
        for person, found in moments:
            fresh.along(person, found)

    works = (plan, search, build, homes, lambda: work_out(changed, ground))
    # By turns, so that what else the machine does weighs on all alike.
    turns = [[processor_s(work) for work in works] for _ in range(5)]
    plan_s, search_s, build_s, homes_s, again_s = (
        statistics.median(column) for column in zip(*turns, strict=True)
    )
    strict = statistics.median(one[0] / one[1] for one in turns)
    print(
        f"\nplanning {plan_s:.2f} s, bare searches {search_s:.2f} s, graphs {build_s:.2f} s, "
        f"times home {homes_s:.2f} s"
    )
    print(f"planning / searches of its ways {strict:.2f} (aim <= 5)")
    least = min(one[0] for one in turns) / min(one[1] for one in turns)
    print(f"the same, least of each {least:.2f}")
    print(f"planning / (these and the times home) {plan_s / (search_s + homes_s):.2f}")
    print(f"planning / (searches + graphs) {plan_s / (search_s + build_s):.2f}")
    print(f"planning again after one act's change / planning {again_s / plan_s:.3f} (aim <= 0.25)")


@pytest.mark.benchmark
def test_samples_at_once_against_one_by_one() -> None:
    document = read_outing(EXAMPLE)
    ground = Ground(document.structure, document.outing, document.limits)
    schedule = work_out(document.outing, ground).schedule
    network, releases_s = schedule.plan.network, releases_of(schedule.plan)
    durations_s = sample_durations_s(schedule, 10_000, np.random.default_rng(1))
    few = 500

    def at_once() -> None:
        time_network(network, durations_s, releases_s)

    def one_by_one() -> None:
        for one in durations_s.T[:few]:
            time_network(network, one, releases_s)

    spread_of_s = median_s(lambda: spread_of(schedule, 10_000, 1))
    once_s, slow_s = median_s(at_once), median_s(one_by_one) * 10_000 / few
    print(f"\n10,000 samples: one by one {slow_s:.1f} s (from {few}), at once {once_s:.3f} s")
    print(f"one by one / at once {slow_s / once_s:.0f} (aim >= 50)")
    print(f"one by one / the whole spread, sampling included {slow_s / spread_of_s:.0f}")
