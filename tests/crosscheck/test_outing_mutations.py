"""The small example with random mistakes in it: what is called clean keeps every rule.

Acts are left out, moved, done elsewhere, by somebody else, with other items. The planner may
refuse such a plan or find something that blocks; what it calls clean is replayed by code that
shares nothing with it. No plan may make it fail.
"""

import json
import random
import tomllib
from pathlib import Path
from typing import Any

import pytest

from routing.outings.plan import work_out
from routing.outings.plan_file.reader import read_outing
from routing.outings.safety.rescue_watch import with_rescues
from routing.outings.told.rescue_text import rescue_lines
from routing.outings.translations import Ground
from structures.errors import InvalidDocumentError
from tests.draws import draws
from tests.routing.outings.outing_replay import replay

SMALL = Path(__file__).parents[2] / "examples" / "small" / "outing.toml"
SITES = ("H01", "H02", "H05", "H09", "SK1", "W1", "W2", "W3", "hatch")
KINDS = ("drop", "earlier", "at", "who", "way", "minutes", "after", "item", "does")
DOES = ("move", "fetch", "put", "work", "wait", "hold-still")


def _value(value: Any) -> str:
    if isinstance(value, list):
        return f"[{', '.join(_value(one) for one in value)}]"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key} = {_value(one)}' for key, one in value.items())} }}"
    return json.dumps(value)


def _text(plan: dict[str, Any]) -> str:
    """Write a plan as TOML: plain values first, then its lists of tables."""
    tables = {key: value for key, value in plan.items() if isinstance(value, list)}
    lines = [f"{key} = {_value(value)}" for key, value in plan.items() if key not in tables]
    for key, rows in tables.items():
        for row in rows:
            lines += [f"[[{key}]]", *(f"{name} = {_value(one)}" for name, one in row.items())]
    return "\n".join(lines) + "\n"


def _mistake(plan: dict[str, Any], chance: random.Random) -> None:
    """Make one mistake in a plan."""
    acts = plan["acts"]
    at = chance.randrange(len(acts))
    act = acts[at]
    kind = chance.choice(
        ("drop", "earlier", "at", "who", "way", "minutes", "after", "item", "does")
    )
    if kind == "drop" and len(acts) > 1:
        acts.remove(act)
        for other in acts:
            other["after"] = [one for one in other.get("after", ()) if one != act["id"]]
    elif kind == "earlier":
        acts.insert(chance.randrange(at + 1), acts.pop(at))
    elif kind == "at":
        act["at"] = chance.choice(SITES)
    elif kind == "who":
        act["who"] = chance.choice((["EV1"], ["EV2"], ["EV1", "EV2"]))
    elif kind == "way":
        act["way"] = chance.choice(("best", "retrace", "recover"))
    elif kind == "minutes":
        act["minutes"] = chance.choice((0, 1, 400))
    elif kind == "after":
        act["after"] = [chance.choice(acts)["id"]]
    elif kind == "item":
        act["item" if "item" in act else "using"] = chance.choice(("bag", "wrench", ["wrench"]))
    else:
        act["does"] = chance.choice(DOES)


@pytest.mark.parametrize("seed", range(draws(40)))
def test_what_is_called_clean_keeps_every_rule(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    plan = tomllib.loads(SMALL.read_text(encoding="utf-8"))
    plan["structure"] = str(SMALL.parent / plan["structure"])
    for _ in range(chance.randint(1, 3)):
        _mistake(plan, chance)
    path = tmp_path / "plan.toml"
    path.write_text(_text(plan), encoding="utf-8")
    try:
        document = read_outing(path)
    except InvalidDocumentError:
        return  # about half of them; the messages have their own tests
    ground = Ground(document.structure, document.outing, document.limits)
    planned = work_out(document.outing, ground)
    answer = with_rescues(planned.answer, planned.schedule, ground, planned.stock)
    assert rescue_lines(answer)
    if answer.clean:
        replay(path, answer.to_document())
