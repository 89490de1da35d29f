"""Two people's lines over the time of an outing: where they cross, and whether it undoes itself.

On the small example EV1 goes to starboard over H01, H07 and H09; EV2 can be made to
lay over that line, or under it.
"""

import random
from pathlib import Path

from routing.outings.line_watch import PairOfLines, pairs_of_lines
from routing.outings.moments import moments_of
from routing.outings.plan import PlannedOuting, work_out
from routing.outings.reader import read_outing
from routing.outings.translations import Ground
from tests.routing.line_samples import STEP_M, tangles
from tests.routing.outing_plans import act, write_plan

SITES = ("H01", "H03@0.686", "H04", "W1", "W2", "W3", "H09", "H12", "hatch")
APART_M = 0.3048


def lines_of(plan: PlannedOuting) -> PairOfLines:
    people = [person.id for person in plan.outing.people]
    moments = {one: moments_of(plan.schedule, plan.ground, plan.stock, one) for one in people}
    (pair,) = pairs_of_lines(plan.schedule, plan.ground, moments)
    return pair


def random_acts(pick: random.Random) -> list[str]:
    parts = []
    done: list[str] = []
    for i in range(pick.randint(6, 10)):
        who = pick.choice(["EV1", "EV2"])
        keys: dict[str, object] = {"at": pick.choice(SITES)}
        if keys["at"] == "hatch" and pick.random() < 0.7:
            keys["way"] = "recover"
        if done and pick.random() < 0.3:
            keys["after"] = [pick.choice(done)]
        low = pick.randint(0, 4)
        keys["minutes"] = [low, low + pick.randint(0, 3), low + 5]
        parts.append(act(f"a{i}", who, "work", **keys))
        done.append(f"a{i}")
    return parts


def random_plan(folder: Path, seed: int) -> PlannedOuting:
    parts = random_acts(random.Random(seed))  # noqa: S311 (no secrets)
    document = read_outing(write_plan(folder, *parts))
    return work_out(document.outing, Ground(document.structure, document.outing, document.limits))


def test_tangles_are_those_that_a_pile_followed_by_hand_has(tmp_path: Path) -> None:
    sure = crossed = 0
    for seed in range(16):
        plan = random_plan(tmp_path, seed)
        if plan.answer.totals.ways_missing:
            continue
        pair = lines_of(plan)
        said, clear_cut = set(), set()
        for one in pair.crossings:
            if one.undoing == "may cross" or one.over == "unknown":
                continue
            pieces = pair.pieces(one)
            under, over = pieces if one.over == "second" else pieces[::-1]
            who = pair.first.person if one.over == "second" else pair.second.person
            crossed += 1
            if one.undoing == "tangles":
                said.add((who, under.taken_in))
                if over.taken_s[0] >= under.taken_s[1] and over.laid_s[0] >= under.laid_s[1]:
                    clear_cut.add((who, under.taken_in))
        assert tangles(plan, APART_M - STEP_M) <= said
        assert clear_cut <= tangles(plan, APART_M + STEP_M)
        sure += len(clear_cut)
    assert sure > 3
    assert crossed > sure
