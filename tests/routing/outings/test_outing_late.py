"""What to drop when time is lost: against planning every set of groups there is."""

from itertools import combinations
from pathlib import Path

import pytest

from routing.outings.choosing.late import DROP_RULE, Late, LossError, plan_late
from routing.outings.choosing.late_records import TimeLost
from routing.outings.clock.activity_plan import (
    ACTS_BEGIN,
    plan_activities,
    waits_for_left_out,
    way_id,
)
from routing.outings.plan import work_out_plan
from routing.outings.plan_file.reader import OutingDocument, read_outing
from routing.outings.translations import Ground
from structures.errors import InvalidDocumentError
from tests.routing.outings.outing_plans import HEAD, act, write_plan

GROUPS = """
[[get_aheads]]
id = "look"
worth = 5.0

[[may_drop]]
id = "bring"
worth = 2.0

[[may_drop]]
id = "stow"
worth = 1.0

[[may_drop]]
id = "panel"
worth = 3.0
"""

ACTS = (
    act("first", "EV1", "work", at="W1", minutes=5),
    act("early", "EV2", "work", at="H02", minutes=2),
    act("look-1", "EV1", "work", at="H04", minutes=9, spare="look"),
    act("panel-1", "EV1", "work", at="SK4", minutes=9, may_drop="panel"),
    act("bring-1", "EV2", "fetch", item="pin", at="H01", minutes=3, may_drop="bring"),
    # The pin is put away only if it was fetched.
    act("stow-1", "EV2", "put", item="pin", at="W3", minutes=3, may_drop="stow"),
    act("with-pin", "EV2", "work", at="W3", using=["pin"], minutes=1, may_drop="stow"),
    act("home-1", "EV1", "move", at="hatch", way="recover"),
    act("both", "EV2", "work", at="H01", way="retrace", minutes=6, after=["first"]),
    act("home-2", "EV2", "move", at="hatch", way="recover"),
)
PLANNED_MIN = 30.0


def document(folder: Path, *acts: str, groups: str = GROUPS) -> OutingDocument:
    limits = f"\n[outing_limits]\nplanned_min = {PLANNED_MIN}\n"
    return read_outing(write_plan(folder, groups, *(acts or ACTS), head=HEAD + limits))


@pytest.fixture(name="plan", scope="module")
def read_plan(tmp_path_factory: pytest.TempPathFactory) -> OutingDocument:
    return document(tmp_path_factory.mktemp("late"))


@pytest.fixture(name="ground", scope="module")
def shared_ground(plan: OutingDocument) -> Ground:
    return Ground(plan.structure, plan.outing, plan.limits)


def lost(plan: OutingDocument, ground: Ground, minutes: float, at: str | None) -> TimeLost:
    late = Late(seconds=60 * minutes, act=at)
    answer = plan_late(plan.outing, ground, late, get_aheads=["look"]).answer
    assert answer.time_lost is not None
    assert answer.clean == answer.time_lost.enough
    return answer.time_lost


def by_brute_force(
    plan: OutingDocument, ground: Ground, minutes: float, at: str | None
) -> tuple[str, ...] | None:
    """Try every set of groups that have not begun, in the order of what the rule says."""
    loss = {at or ACTS_BEGIN: 60 * minutes}
    nothing = work_out_plan(plan_activities(plan.outing, ["look"], lost_s=loss), ground)
    clock = nothing.schedule
    shows_s = clock.end_s(at or ACTS_BEGIN) - 60 * minutes
    worth = {"look": 5.0, "bring": 2.0, "stow": 1.0, "panel": 3.0}
    acts = {g: [a for a in plan.outing.acts if g in (a.spare, a.may_drop)] for g in worth}
    free = [
        g
        for g in worth
        if all(clock.start_s(way_id(a.id, a.who[0])) >= shows_s - 1e-6 for a in acts[g])
    ]
    enough = []
    for count in range(len(free) + 1):
        for dropped in combinations(free, count):
            ahead = [one for one in ("look",) if one not in dropped]
            acts_left = plan_activities(plan.outing, ahead, dropped=dropped, lost_s=loss)
            done = work_out_plan(acts_left, ground)
            past = [one for one in acts_left.network.ids if clock.start_s(one) < shows_s - 1e-6]
            same = all(abs(done.schedule.start_s(x) - clock.start_s(x)) < 1e-6 for x in past)
            if done.answer.clean and same and not waits_for_left_out(acts_left):
                ranked = (
                    sum(worth[one] for one in dropped if one != "look"),
                    sum(worth[one] for one in dropped if one == "look"),
                    done.answer.totals.total_s,
                )
                enough.append((ranked, dropped))
    return min(enough)[1] if enough else None


CASES = [
    (minutes, at)
    for at in (None, "first", "early", "both", "panel-1")
    for minutes in (1, 4, 8, 12, 16)
] + [(25, None), (25, "first"), (40, "early")]


@pytest.mark.parametrize(("minutes", "at"), CASES)
def test_what_is_dropped_is_what_planning_every_set_says(
    plan: OutingDocument, ground: Ground, minutes: float, at: str | None
) -> None:
    found = lost(plan, ground, minutes, at)
    wanted = by_brute_force(plan, ground, minutes, at)
    assert found.enough == (wanted is not None)
    assert found.dropped == (wanted or ())
    assert found.proven
    assert found.rule == DROP_RULE
    if wanted is None:
        for miss in found.misses:
            ahead = [one for one in ("look",) if one not in miss.dropped]
            loss = {at or ACTS_BEGIN: 60 * minutes}
            acts = plan_activities(plan.outing, ahead, dropped=miss.dropped, lost_s=loss)
            done = work_out_plan(acts, ground).answer
            assert done.totals.total_s == miss.total_s <= 60 * PLANNED_MIN
            blocks = {(f.code, f.act) for f in done.findings if f.severity == "blocks"}
            assert {(one.code, one.act) for one in miss.broken} == blocks != set()
            assert miss.lines_only == all("tangle" in code for code, _ in blocks)
        assert found.broken
        assert found.at_least_s is not None
    for row in found.rows:
        assert row.dropped == (row.id in found.dropped)
        assert not (row.dropped and row.begun)


def test_the_cases_are_of_every_kind(plan: OutingDocument, ground: Ground) -> None:
    dropped = {lost(plan, ground, minutes, None).dropped for minutes in (1, 4, 8, 12, 16)}
    assert () in dropped
    assert ("look",) in dropped
    assert any("panel" in one or "bring" in one for one in dropped)
    # What uses the pin never stays without what fetches it.
    assert all("stow" in one for one in dropped if "bring" in one)


def test_what_the_loss_breaks_is_said_and_the_time_is_on_the_sheet(
    plan: OutingDocument, ground: Ground
) -> None:
    late = Late(seconds=720, act="first")
    answer = plan_late(plan.outing, ground, late, get_aheads=["look"]).answer
    found = answer.time_lost
    assert found is not None
    assert [one.code for one in found.broken] == ["over-planned-length"]
    assert found.total_late_s > 60 * PLANNED_MIN >= found.total_s == answer.totals.total_s
    row = next(row for row in answer.run_sheet if row.act == "first" and row.kind == "act")
    assert "12 min lost" in row.remarks
    assert row.end_s - row.start_s == pytest.approx(17 * 60)
    before = plan_late(plan.outing, ground, Late(seconds=720), get_aheads=["look"]).answer
    assert [(b.name, b.start_s, b.end_s) for b in before.blocks if b.name == "time lost"] == [
        ("time lost", 0.0, 720.0)
    ]
    assert before.totals.acts_s == pytest.approx(before.totals.total_s - 720)


def test_what_has_begun_stays(plan: OutingDocument, ground: Ground) -> None:
    found = lost(plan, ground, 12, "panel-1")
    begun = {row.id for row in found.rows if row.begun}
    assert {"look", "panel", "bring"} <= begun
    assert "panel" not in found.dropped


def test_an_item_that_nothing_moves_stays_where_it_is(tmp_path: Path) -> None:
    head = HEAD.replace('id = "pin"\nkind = "tool"\nat = "H01"\nends_anywhere = true',
                        'id = "pin"\nkind = "tool"\nat = "H01"\nends_at = "W3"')  # fmt: skip
    limits = f"\n[outing_limits]\nplanned_min = {PLANNED_MIN}\n"
    plan = read_outing(write_plan(tmp_path, GROUPS, *ACTS, head=head + limits))
    ground = Ground(plan.structure, plan.outing, plan.limits)
    whole = work_out_plan(plan_activities(plan.outing), ground).answer
    assert whole.clean
    less = plan_activities(plan.outing, dropped=["bring", "stow"])
    without = work_out_plan(less, ground).answer
    assert without.clean
    (stays,) = [one for one in without.findings if one.code == "item-stays"]
    assert "pin stays at H01, because bring-1, stow-1 are left out" in stays.message
    half = work_out_plan(plan_activities(plan.outing, dropped=["stow"]), ground).answer
    assert "item-ends-elsewhere" in {one.code for one in half.findings}


def test_a_plan_that_is_not_clean_is_mended_first(tmp_path: Path) -> None:
    plan = document(tmp_path, *ACTS, act("c", "EV2", "put", item="lamp", at="H01"))
    ground = Ground(plan.structure, plan.outing, plan.limits)
    found = lost(plan, ground, 1, None)
    assert "mend that first" in found.reason
    assert not found.enough
    assert found.dropped == ()


@pytest.mark.parametrize(
    ("acts", "said"),
    [
        (
            [act("z", "EV1", "work", after=["panel-1"])],
            "this is always done and waits for 'panel-1', so 'panel' can never be dropped",
        ),
        (
            [act("z", "EV1", "work", may_drop="panels")],
            "no group under may_drop has the id 'panels'; did you mean panel?",
        ),
        (
            [act("z", "EV1", "work", may_drop="panel", spare="look")],
            "write spare or may_drop, not both, in act z",
        ),
    ],
)
def test_plans_that_cannot_drop_what_they_say(tmp_path: Path, acts: list[str], said: str) -> None:
    with pytest.raises(InvalidDocumentError) as error:
        document(tmp_path, *ACTS, *acts)
    assert said in str(error.value)


@pytest.mark.parametrize(
    ("act_id", "said"),
    [
        ("told", r"'told' is a gate, which takes no time itself; .* one that it needs: first"),
        ("frist", r"no act has the id 'frist'; did you mean first\?"),
        ("look-1", r"'look-1' is part of the get-ahead look, which is not planned"),
        ("@begin", r"no act has the id '@begin'"),
    ],
)
def test_only_an_act_that_is_planned_can_take_longer(
    tmp_path: Path, act_id: str, said: str
) -> None:
    gate = '\n[[gates]]\nid = "told"\nneeds = ["first"]\nopens = ["both"]\n'
    plan = document(tmp_path, *ACTS, gate)
    ground = Ground(plan.structure, plan.outing, plan.limits)
    with pytest.raises(LossError, match=said):
        plan_late(plan.outing, ground, Late(seconds=60, act=act_id))


@pytest.mark.parametrize("seconds", [-1.0, float("nan"), float("inf")])
def test_a_loss_is_a_time(seconds: float) -> None:
    with pytest.raises(LossError, match="0 or more"):
        Late(seconds=seconds)
