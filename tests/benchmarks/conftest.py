"""Benchmarks measure the engine that is shipped, and not the one that tests are run with."""

import pytest

from routing.paths.search import engine


@pytest.fixture(autouse=True, scope="module")
def shipped_big_job_steps() -> int:
    """Stand in for the fixture of all tests, which compiles smaller searches too."""
    return engine.BIG_JOB_STEPS
