"""What is dropped, filled in and arranged, as the command says it, replayed independently.

The replay takes from the answer only what was chosen (which groups, by whom, how much is
lost) and asserts every rule of the plan anew.
"""

from pathlib import Path
from typing import Any

import pytest

from tests.cli.command_ground import run
from tests.routing.outings import test_outing_errands as errands
from tests.routing.outings import test_outing_get_aheads as fill
from tests.routing.outings import test_outing_late as late
from tests.routing.outings.outing_plans import HEAD, write_plan
from tests.routing.outings.outing_replay import replay

_ANYWHERE = 'at = "H01"\nends_anywhere = true'


def ending(**ends: str) -> str:
    """Return the head of a plan in which these items end at a certain place."""
    head = HEAD
    for item, site in ends.items():
        before, name, after = head.partition(f'id = "{item}"')
        head = before + name + after.replace(_ANYWHERE, f'at = "H01"\nends_at = "{site}"', 1)
    return head


def limit(minutes: float) -> str:
    return f"\n[outing_limits]\nplanned_min = {minutes}\n"


def answered(path: Path, *options: object) -> dict[str, Any]:
    found = run("outing", path, *options, "--json")
    assert found.code == 0, found
    answer: dict[str, Any] = found.answer
    return answer


def rejected(path: Path, answer: dict[str, Any]) -> None:
    """The replay does not take an answer that says something else than its run sheet."""
    with pytest.raises(AssertionError):
        replay(path, answer)


@pytest.mark.parametrize(
    ("minutes", "at", "done", "dropped"),
    [
        (8, ["--at", "first"], [], []),
        (12, ["--at", "first"], ["look"], ["panel"]),
        (12, [], ["look"], ["panel"]),
    ],
)
def test_with_time_lost(
    tmp_path: Path, minutes: float, at: list[str], done: list[str], dropped: list[str]
) -> None:
    head = ending(pin="W3") + limit(late.PLANNED_MIN)
    path = write_plan(tmp_path, late.GROUPS, *late.ACTS, head=head)
    answer = answered(path, "--late", minutes, *at, "--get-ahead", "look")
    assert (answer["get_aheads_planned"], answer["dropped"]) == (done, dropped)
    replay(path, answer)
    if dropped:
        rejected(path, answer | {"dropped": []})
    if not done:
        rejected(path, answer | {"get_aheads_planned": ["look"]})
    if at:
        rejected(path, answer | {"time_lost": None})


@pytest.mark.parametrize(
    ("minutes", "filled"), [(32, ["bring", "look"]), (40, ["bring", "far", "look"])]
)
def test_with_get_aheads_filled_in(tmp_path: Path, minutes: float, filled: list[str]) -> None:
    path = write_plan(tmp_path, fill.SETS, *fill.ACTS, head=ending(pin="W3") + limit(minutes))
    answer = answered(path, "--fill")
    assert answer["get_aheads_planned"] == filled
    replay(path, answer)
    rejected(path, answer | {"get_aheads_planned": [*filled[1:]]})


def test_with_errands_arranged(tmp_path: Path) -> None:
    path = write_plan(tmp_path, errands.ERRANDS, *errands.ACTS, head=ending(lamp="W1"))
    answer = answered(path, "--arrange")
    assert answer["order"]["changed"]
    assert {row["person"] for row in answer["order"]["rows"]} == {"EV1", "EV2"}
    replay(path, answer)
    rejected(path, answer | {"order": None})
