"""Random plans: they are clean just when an independent replay finds nothing wrong.

The replay (`tests.routing.outings.outing_replay`) shares no code with what plans: it
walks the run sheet and moves items by the words of the plan.
"""

import random
from pathlib import Path

import pytest

from tests.routing.outings.outing_plans import HEAD, act, planned, write_plan
from tests.routing.outings.outing_replay import replay

SITES = ("H01", "H02", "W1", "W3", "SK4")
ITEMS = ("lamp", "pin", "stool", "bench")
STRICT = HEAD.replace("ends_anywhere = true\n", "").replace("volume_l = 10.0", "volume_l = 900.0")
STRICT = STRICT.replace("hangs = 2", "hangs = 20")


def random_acts(seed: int) -> list[str]:
    """Write acts of two people that move four items about, mostly right, sometimes wrong."""
    rng = random.Random(seed)
    at = {"lamp": "H01", "pin": "H01", "stool": "H01", "bench": "SK2"}
    held: dict[str, list[str]] = {"EV1": [], "EV2": []}
    acts: list[str] = []
    last = ""
    for number in range(rng.randint(2, 9)):
        who = rng.choice(("EV1", "EV2"))
        name = f"a{number}"
        after = [last] if last and rng.random() < 0.95 else []
        if held[who] and rng.random() < 0.6:
            item = held[who].pop(0)
            site = rng.choice(SITES) if rng.random() < 0.6 else _home(item)
            kind = "set-up" if item in {"stool", "bench"} and site.startswith("SK") else "put"
            acts.append(act(name, who, kind, item=item, at=site, after=after))
            at[item] = site
        else:
            item = rng.choice(ITEMS)
            there = at[item] if at[item] not in held else rng.choice(SITES)
            site = there if rng.random() < 0.9 else rng.choice(SITES)
            acts.append(
                act(name, who, "fetch", item=item, at=site, hung=rng.random() < 0.4, after=after)
            )
            for other in held.values():
                if item in other:
                    other.remove(item)
            held[who].append(item)
            at[item] = who
        last = name
    for who, items in held.items():
        for item in list(items):
            name = f"back-{item}"
            acts.append(act(name, who, "put", item=item, at=_home(item), after=[last]))
            at[item] = _home(item)
            last = name
    if rng.random() < 0.7:
        for item, where in at.items():
            if where != _home(item) and where not in held:
                acts.append(act(f"{item}-1", "EV1", "fetch", item=item, at=where, after=[last]))
                acts.append(act(f"{item}-2", "EV1", "put", item=item, at=_home(item)))
                last = f"{item}-2"
    acts += [act(f"home-{p}", p, "move", at="hatch", way="recover") for p in ("EV1", "EV2")]
    return [one.replace('after = ["' + '"]\n', "") for one in acts]


def _home(item: str) -> str:
    return "SK2" if item == "bench" else "H01"


def is_replayed(path: Path, document: dict[str, object]) -> bool:
    try:
        replay(path, document)
    except AssertionError:
        return False
    return True


@pytest.mark.parametrize("block", range(6))
def test_clean_just_when_the_replay_finds_nothing(tmp_path: Path, block: int) -> None:
    clean = 0
    for seed in range(12 * block, 12 * block + 12):
        acts = random_acts(seed)
        answer = planned(tmp_path, *acts, head=STRICT).answer
        path = write_plan(tmp_path, *acts, head=STRICT)
        said = [f.code for f in answer.findings if f.severity == "blocks"]
        assert answer.clean == (not said)
        assert is_replayed(path, answer.to_document()) == answer.clean, (seed, said)
        clean += answer.clean
    # Both kinds must be among them, or the test says nothing.
    assert 0 < clean < 12
