"""Whole answers on the station, to the last byte the same in plain Python and compiled."""

import pytest

from routing.paths.search import engine
from tests.cli.command_ground import EXAMPLES, Outcome, run
from tests.needs import NUMBA

STATION = EXAMPLES["station"]

CASES = (
    ("route", STATION, "hatch", "W20", "--homeward"),
    ("route", STATION, "hatch", "W28", "--protocol", "reel", "--homeward"),
    ("route", STATION, "hatch", "W28", "--via", "W12", "--protocol", "reel"),
    # No way: where the search stopped, and what would open it.
    ("route", STATION, "hatch", "W28", "--protocol", "reel", "--reel", "55ft"),
    ("choices", STATION, "hatch", "W12", "--count", "2"),
    ("choices", STATION, "hatch", "W20", "--count", "1", "--protocol", "reel"),
    ("reach", STATION, "--only", "tether", "--kit", "85ft+85ft", "--kit", "55ft"),
)


def _run(case: tuple[object, ...], big: int, monkeypatch: pytest.MonkeyPatch) -> Outcome:
    monkeypatch.setattr(engine, "BIG_JOB_STEPS", big)
    assert engine.choose_engine("auto", moves=10**6) == ("compiled" if big == 1 else "plain")
    return run(*case, "--json")


@NUMBA
@pytest.mark.parametrize("case", CASES, ids=lambda case: " ".join(map(str, case[2:])))
def test_an_answer_is_the_same_in_both_engines(
    case: tuple[object, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = _run(case, 10**12, monkeypatch)
    assert plain.out
    assert plain.code in {0, 1}
    found = _run(case, 1, monkeypatch)
    assert (found.code, found.out) == (plain.code, plain.out)
