"""Settings of all tests."""

import os
from collections.abc import Iterator

import pytest
from hypothesis import settings

from routing.paths.search import engine
from tests.draws import draws

settings.register_profile("ci", deadline=None, derandomize=True, max_examples=draws(40))
settings.register_profile("fuzzing", deadline=None, max_examples=5000)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

_BIG_HERE_STEPS = 2_000
"""Moves from which a search is compiled in tests: the station, no small structure."""


@pytest.fixture(autouse=True, scope="module")
def shipped_big_job_steps() -> Iterator[int]:
    """Compile the searches of a whole station, as all tests together are one big job.

    Both engines give the same bits: `tests/crosscheck/test_engines.py` holds whole
    answers against each other, others single searches. What runs in a process of its
    own (a command, a worker) stays plain as shipped. The value is what is shipped.
    """
    shipped = engine.BIG_JOB_STEPS
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "BIG_JOB_STEPS", _BIG_HERE_STEPS)
        yield shipped
