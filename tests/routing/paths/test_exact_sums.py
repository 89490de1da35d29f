"""Sums of runs against `math.fsum`, which rounds once."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.paths.search.exact_sums import ExactSums

SECONDS = st.floats(min_value=2.0**-16, max_value=2.0**14) | st.just(0.0)


@given(st.lists(st.lists(st.tuples(SECONDS, SECONDS), max_size=30), min_size=1, max_size=8))
def test_runs_are_summed_to_the_last_bit(runs: list[list[tuple[float, float]]]) -> None:
    first, second = (
        np.array([one for run in runs for one in run], dtype=np.float64).reshape(-1, 2).T
    )
    at = np.cumsum([0, *map(len, runs)])
    summed = ExactSums.of(first, second).runs(np.arange(len(first)), at)
    assert summed == [math.fsum(one for both in run for one in both) for run in runs]


@pytest.mark.parametrize("odd", [2.0**-70, 2.0**40, 1e300])
def test_numbers_that_cannot_be_cut_up_are_summed_all_the_same(odd: float) -> None:
    values = np.array([0.1, odd, 0.2])
    sums = ExactSums.of(values)
    assert sums.parts is None
    assert sums.runs(np.array([0, 1, 2, 0]), np.array([0, 3, 4])) == [
        math.fsum([0.1, odd, 0.2]),
        0.1,
    ]


@pytest.mark.parametrize("length", [50_000, 400_000])
def test_what_runs_over_in_all_is_right_in_each_run(length: int) -> None:
    values = np.array([2.0**14, 0.1])
    sums = ExactSums.of(values)
    assert sums.parts is not None
    chosen = np.arange(2_000_000) % 2
    expected = math.fsum(values[chosen[:length]].tolist())
    assert sums.runs(chosen, np.arange(0, 2_000_001, length)) == [expected] * (2_000_000 // length)
    assert (length > sums.longest) == (length == 400_000)  # one of them has to be summed otherwise
