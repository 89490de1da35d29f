"""Two people's lines over the time of an outing: where they cross, and whether it undoes itself.

On the small example EV1 goes to starboard over H01, H07 and H08. EV2, who comes from
the forward end over H02, gets on those handrails from the other side.
"""

import random
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import pytest

from routing.outings.lines.clear_lines import clear_lines, with_edits
from routing.outings.lines.laid_lines import laid_lines
from routing.outings.lines.proposal import edit_text, only_lines_block, with_proposal
from routing.outings.lines.records import PlanEdit
from routing.outings.lines.watch import PairOfLines, pairs_of_lines
from routing.outings.plan import PlannedOuting, work_out
from routing.outings.plan_file.reader import read_outing
from routing.outings.safety.moments import moments_of
from routing.outings.translations import Ground
from tests.routing.outings.outing_plans import HEAD, act, planned, write_plan
from tests.routing.paths.line_samples import STEP_M, tangles

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
    parts = random_acts(random.Random(seed))
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


UNDER = (
    act("far", "EV1", "work", at="H08", minutes=4),
    act("side", "EV2", "work", at="W1", minutes=1),
    # EV2 comes from H02 over H07, over the line of EV1, and stays longer than EV1.
    act("top", "EV2", "work", at="W3", minutes=12),
    act("home-1", "EV1", "move", at="hatch", way="recover"),
    act("home-2", "EV2", "move", at="hatch", way="recover"),
)


def line_codes(plan: PlannedOuting) -> list[tuple[str, str, str | None]]:
    return [
        (one.severity, one.code, one.act)
        for one in plan.answer.findings
        if one.code.startswith("lines-")
    ]


def test_a_line_taken_up_from_beneath_another_blocks(tmp_path: Path) -> None:
    plan = planned(tmp_path, *UNDER)
    assert line_codes(plan) == [("blocks", "lines-tangle", "home-1")]
    (one,) = [f for f in plan.answer.findings if f.code == "lines-tangle"]
    assert "it must be pulled out from beneath" in one.message
    assert one.person == "EV1"
    (meet,) = {(m.over, m.ends) for m in plan.answer.lines}
    assert meet == ("EV2", "tangles")
    assert tangles(plan, APART_M) == {("EV1", "home-1@EV1")}


def test_the_order_of_acts_makes_certain_that_it_undoes_itself(tmp_path: Path) -> None:
    in_order = (
        *UNDER[:1],
        act("later", "EV2", "wait", after=["far"]),
        *UNDER[1:3],
        act("home-2", "EV2", "move", at="hatch", way="recover"),
        act("stay", "EV1", "wait", after=["home-2"]),
        act("home-1", "EV1", "move", at="hatch", way="recover"),
    )
    plan = planned(tmp_path, *in_order)
    assert line_codes(plan) == [("warns", "lines-cross", "top")]
    # By the clock the same, but only by the minutes of acts.
    by_minutes = [part.replace('after = ["home-2"]', "minutes = [1, 30, 40]") for part in in_order]
    plan = planned(tmp_path, *by_minutes)
    assert line_codes(plan) == [("blocks", "lines-may-tangle", "top")]


def test_lines_that_never_meet_by_the_clock_alone_are_told_of(tmp_path: Path) -> None:
    gone = (
        act("far", "EV1", "work", at="H08", minutes=2),
        act("home-1", "EV1", "move", at="hatch", way="recover"),
        act("side", "EV2", "work", at="W1", minutes=[1, 20, 30]),
        act("top", "EV2", "work", at="W3", minutes=1),
        act("home-2", "EV2", "move", at="hatch", way="recover"),
    )
    plan = planned(tmp_path, *gone)
    assert line_codes(plan) == [("warns", "lines-may-cross", "top")]
    certain = (*gone[:3], act("wait", "EV2", "wait", after=["home-1"]), *gone[3:])
    assert line_codes(planned(tmp_path, *certain)) == []


def test_short_tethers_lay_no_line(tmp_path: Path) -> None:
    head = HEAD.replace('id = "EV2"\nstart', 'id = "EV2"\nprotocol = "leapfrog"\nstart')
    plan = planned(tmp_path, *UNDER, head=head)
    moments = moments_of(plan.schedule, plan.ground, plan.stock, "EV2")
    assert laid_lines(plan.ground, "EV2", moments, plan.schedule.acts_end_s) is None
    assert plan.answer.lines == ()


def one_wait_more(plan: PlannedOuting) -> Iterator[PlannedOuting]:
    """Plan with every wait of one person for one act, and some minutes more, before every act."""
    acts = [one for one in plan.outing.acts if one.who[0] in {"EV1", "EV2"}]
    for before, after, minutes in product(acts, (None, *acts), (None, 1.0, 4.0)):
        edit = PlanEdit(
            kind="wait",
            id="more",
            person=before.who[0],
            before=before.id,
            after=() if after is None else (after.id,),
            minutes=minutes,
        )
        if not edit.after and not minutes:
            continue
        try:
            yield work_out(with_edits(plan.outing, [edit]), plan.ground)
        except ValueError:
            continue  # these would wait for each other


def test_no_single_wait_clears_the_lines_at_less_cost(tmp_path: Path) -> None:
    plan = planned(tmp_path, *UNDER)
    cleared = clear_lines(plan)
    assert cleared is not None
    assert cleared.found
    changed = work_out(with_edits(plan.outing, cleared.edits), plan.ground)
    assert changed.answer.clean
    assert not tangles(changed, APART_M)
    total_s = changed.answer.totals.total_s
    assert cleared.total_s == total_s
    assert cleared.longer_s == pytest.approx(total_s - plan.answer.totals.total_s)
    clean = [one.answer.totals.total_s for one in one_wait_more(plan) if one.answer.clean]
    assert clean
    assert total_s <= min(clean) + 1e-6


def test_what_is_proposed_can_be_written_into_the_plan(tmp_path: Path) -> None:
    plan = planned(tmp_path, *UNDER)
    assert only_lines_block(plan.answer)
    cleared = clear_lines(plan)
    assert cleared is not None
    said = with_proposal(plan.answer, cleared)
    (one,) = [f for f in said.findings if f.code == "lines-tangle"]
    assert "--clear-lines" in one.remedy
    parts = list(UNDER)
    for edit in cleared.edits:
        text = "\n" + "\n".join(edit_text([edit])) + "\n"
        at = next(i for i, part in enumerate(parts) if f'id = "{edit.before}"' in part)
        if edit.kind == "wait":
            parts.insert(at, text)
        else:
            parts[at] += text
    again = planned(tmp_path, *parts)
    assert again.answer.clean
    assert again.answer.totals.total_s == cleared.total_s
    assert clear_lines(again) is None


def test_giving_up_says_so(tmp_path: Path) -> None:
    plan = planned(tmp_path, *UNDER)
    cleared = clear_lines(plan, most_plans=0)
    assert cleared is not None
    assert (cleared.found, cleared.gave_up) == (False, True)
    (one,) = [f for f in with_proposal(plan.answer, cleared).findings if f.code == "lines-tangle"]
    assert "the search gave up" in one.remedy
