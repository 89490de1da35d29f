"""Smallest chains against dense samples of the rails, and shared kits against ortools."""

import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np
import pytest
from ortools.sat.python import cp_model

from routing.graph.build import complete
from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.limits import DEFAULT_LIMITS
from routing.worksites.ties.best_first import TIE_WITHIN_M
from routing.worksites.ties.chains import find_chain
from routing.worksites.ties.kit import kit_of
from routing.worksites.ties.lines import LinesTo
from routing.worksites.ties.places import allowed_ties, near_ties, tie_elements
from routing.worksites.ties.together import Choice, choose_together
from structures.elements import Worksite
from structures.files import read_structure
from structures.model import Structure

pytestmark = pytest.mark.benchmark

STATION = Path(__file__).parents[2] / "examples" / "station" / "station.toml"
TIMES = 3


def seconds(job: Callable[[], object]) -> float:
    begin = time.perf_counter()
    job()
    return time.perf_counter() - begin


def densely(structure: Structure, worksite: Worksite) -> tuple[int, float]:
    """Measure every rail so finely that no margin is missed by more than the search's bound."""
    situation = complete(structure, Situation())
    around, kit = survey(structure, situation), kit_of(structure)
    attach = worksite.attach[0]
    farthest_m = DEFAULT_LIMITS.max_chain * max(one.extended_m for one in kit.tethers)
    to = [
        LinesTo.to(point, around.solids, around.line, farthest_m)
        for point in (attach.held_m, attach.seated_m)
    ]
    ties, _ = allowed_ties(tie_elements(structure, situation.closed, None), worksite)
    lines = []
    for tie in near_ties(ties, *to):
        for point in tie.line.points_at(tie.line.samples_m(2 * TIE_WITHIN_M)):
            found = [one.measure(point) for one in to]
            if not any(line.zone for line in found):
                lines.append(found)
    for count in range(1, DEFAULT_LIMITS.max_chain + 1):
        margins = [
            min(
                min(series.extended_m - line.longest_m, line.shortest_m - series.cinched_m)
                for line in found
            )
            for series in kit.series(count)
            for found in lines
        ]
        if max(margins) >= 0:
            return count, max(margins)
    return 0, -1.0


@pytest.mark.parametrize("site", ["WE01", "WE02", "W26"])
def test_smallest_chain_against_dense_samples(site: str) -> None:
    structure = read_structure(STATION)
    worksite = structure.find(site)
    assert isinstance(worksite, Worksite)
    found = find_chain(structure, site, Situation()).attach[0]
    count, margin_m = densely(structure, worksite)
    assert found.tethers == count
    assert found.margin_m is not None
    assert abs(found.margin_m - margin_m) <= TIE_WITHIN_M + 1e-6
    ours = median(seconds(lambda: find_chain(structure, site, Situation())) for _ in range(TIMES))
    plain = median(seconds(lambda: densely(structure, worksite)) for _ in range(TIMES))
    print(f"\n{site}: {1000 * ours:.0f} ms, dense samples {plain / ours:.1f} x as long")


def test_shared_kit_against_ortools() -> None:
    random = np.random.default_rng(7)
    kinds, points = 3, 8
    choices = [
        [
            Choice(tuple(int(n) + 1 for n in random.integers(0, 2, kinds)), float(margin))
            for margin in random.integers(0, 400, 8)
        ]
        for _ in range(points)
    ]
    counts = (14, 14, 14)

    def by_ortools() -> float:
        model = cp_model.CpModel()
        least = model.new_int_var(0, 400, "least")
        pairs = []
        for some in choices:
            taken = [model.new_bool_var("") for _ in some]
            model.add_exactly_one(taken)
            for one, var in zip(some, taken, strict=True):
                model.add(least <= int(one.margin_m)).only_enforce_if(var)
                pairs.append((one, var))
        for kind, have in enumerate(counts):
            model.add(sum(one.used[kind] * var for one, var in pairs) <= have)
        model.maximize(least - 1000 * sum(sum(one.used) * var for one, var in pairs))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(model)
        assert status == cp_model.OPTIMAL
        return solver.objective_value

    found = choose_together(choices, counts)
    assert found is not None
    picked = [some[k] for some, k in zip(choices, found, strict=True)]
    worth = min(one.margin_m for one in picked) - 1000 * sum(sum(one.used) for one in picked)
    assert round(by_ortools()) == worth
    ours = median(seconds(lambda: choose_together(choices, counts)) for _ in range(TIMES))
    other = median(seconds(by_ortools) for _ in range(TIMES))
    print(
        f"\nshared kit, 8 attach points: {1000 * ours:.1f} ms, CP-SAT {other / ours:.1f} x as long"
    )
