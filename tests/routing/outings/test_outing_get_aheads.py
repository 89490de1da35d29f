"""Get-aheads: the set that is worth most, against planning every set there is."""

from itertools import combinations
from pathlib import Path

import pytest

from routing.outings.choosing.get_aheads import choose_get_aheads
from routing.outings.choosing.least_lengths import LeastLengths
from routing.outings.clock.activity_plan import plan_activities
from routing.outings.plan import work_out
from routing.outings.plan_file.reader import OutingDocument, read_outing
from routing.outings.translations import Ground
from tests.crosscheck.test_outing_replay import STRICT, random_acts
from tests.routing.outings.outing_plans import HEAD, act, write_plan

SETS = """
[[get_aheads]]
id = "look"
worth = 2.0

[[get_aheads]]
id = "bring"
name = "Bring the pin"
worth = 3.0

[[get_aheads]]
id = "far"
worth = 2.5

[[get_aheads]]
id = "loose"
worth = 9.0
"""

ACTS = (
    act("a", "EV1", "work", at="W1", minutes=20),
    act("look-1", "EV1", "work", at="H04", minutes=6, spare="look"),
    act("pin-1", "EV2", "fetch", item="pin", at="H01", minutes=3, spare="bring"),
    act("pin-2", "EV2", "put", item="pin", at="W3", minutes=6, spare="bring"),
    act("far-1", "EV1", "work", at="W3", minutes=4, spare="far"),
    act("far-2", "EV1", "work", at="W1", minutes=1, spare="far"),
    # Nobody fetches what this puts back: no set with it can be done.
    act("loose-1", "EV2", "put", item="lamp", minutes=1, spare="loose"),
    act("home-1", "EV1", "move", at="hatch", way="recover"),
    act("b", "EV2", "work", at="W3", minutes=14),
    act("home-2", "EV2", "move", at="hatch", way="recover"),
)


def document(folder: Path, planned_min: float) -> OutingDocument:
    limits = f"\n[outing_limits]\nplanned_min = {planned_min}\n"
    return read_outing(write_plan(folder, SETS, *ACTS, head=HEAD + limits))


@pytest.fixture(name="ground", scope="module")
def shared_ground(tmp_path_factory: pytest.TempPathFactory) -> Ground:
    """Ways do not depend on the planned length, so all tests share them."""
    plan = document(tmp_path_factory.mktemp("plan"), 60)
    return Ground(plan.structure, plan.outing, plan.limits)


@pytest.fixture(name="every_set", scope="module")
def all_sets(
    tmp_path_factory: pytest.TempPathFactory, ground: Ground
) -> dict[tuple[str, ...], tuple[bool, float, float]]:
    """Plan every set there is: whether it is clean in 60 min, its worth and its length."""
    plan = document(tmp_path_factory.mktemp("sets"), 60)
    worth = {one.id: one.worth for one in plan.outing.get_aheads}
    found = {}
    for count in range(len(worth) + 1):
        for chosen in combinations(worth, count):
            answer = work_out(plan.outing, ground, get_aheads=chosen).answer
            total_s = answer.totals.total_s
            found[chosen] = (answer.clean, sum(worth[one] for one in chosen), total_s)
    return found


@pytest.mark.parametrize("planned_min", [24, 26, 28, 30, 32, 34, 36, 40, 60])
def test_the_choice_is_that_of_planning_every_set(
    tmp_path: Path,
    planned_min: float,
    ground: Ground,
    every_set: dict[tuple[str, ...], tuple[bool, float, float]],
) -> None:
    plan = document(tmp_path, planned_min)
    choice = choose_get_aheads(plan.outing, ground)
    clean = {
        chosen: (worth, -total_s)
        for chosen, (ok, worth, total_s) in every_set.items()
        if ok and total_s <= 60 * planned_min
    }
    if () not in clean:
        assert choice.chosen == ()
        assert not choice.proven
        assert "not clean" in choice.reason
        return
    assert choice.chosen == max(clean, key=clean.__getitem__)
    assert choice.proven
    assert choice.worth == choice.worth_at_most == clean[choice.chosen][0]
    assert choice.plans + choice.ruled_out > 0
    ids = [one.id for one in plan.outing.get_aheads]
    for row in choice.rows:
        assert row.chosen == (row.id in choice.chosen)
        assert bool(row.why_not) != row.chosen
        beside = tuple(one for one in choice.chosen if one != row.id)
        both = tuple(sorted((*beside, row.id), key=ids.index))
        assert row.longer_s == pytest.approx(every_set[both][2] - every_set[beside][2])


def test_a_larger_set_is_not_always_harder(
    every_set: dict[tuple[str, ...], tuple[bool, float, float]],
) -> None:
    """So no set may be ruled out because a smaller one cannot be done."""
    clean = {chosen for chosen, (ok, _, _) in every_set.items() if ok}
    assert any(
        set(small) < set(large) and small not in clean for large in clean for small in every_set
    )


def test_different_limits_choose_different_sets(tmp_path: Path, ground: Ground) -> None:
    chosen = set()
    for planned_min in (26, 30, 34, 60):
        plan = document(tmp_path, planned_min)
        chosen.add(choose_get_aheads(plan.outing, ground).chosen)
    assert len(chosen) >= 3
    assert ("look", "bring", "far") in chosen


def test_what_is_done_in_any_case_is_not_chosen_again(tmp_path: Path, ground: Ground) -> None:
    plan = document(tmp_path, 60)
    choice = choose_get_aheads(plan.outing, ground, always=["bring"])
    assert choice.chosen == ("look", "far")
    assert [row.id for row in choice.rows] == ["look", "far", "loose"]
    assert "lamp" in choice.rows[-1].why_not


def test_giving_up_says_so(tmp_path: Path, ground: Ground) -> None:
    plan = document(tmp_path, 60)
    choice = choose_get_aheads(plan.outing, ground, most_plans=1)
    assert not choice.proven
    assert choice.worth_at_most == pytest.approx(14.5)  # all but look
    # One after the other: far cannot be done beside bring alone, only with look between.
    assert choice.chosen == ("look", "bring")


@pytest.mark.parametrize("block", range(3))
def test_no_plan_is_shorter_than_its_least_length(tmp_path: Path, block: int) -> None:
    """Also not shorter than the least length of any part of its acts."""
    tight = 0
    for seed in range(8 * block, 8 * block + 8):
        acts = [
            one.replace("minutes = 2\n", f'minutes = 2\nspare = "g{i % 3}"\n')
            for i, one in enumerate(random_acts(seed))
        ]
        acts = ["\n".join(line for line in one.splitlines() if not line.startswith("after"))
                + "\n" for one in acts]  # fmt: skip
        groups = "".join(f'\n[[get_aheads]]\nid = "g{i}"\n' for i in range(3))
        plan = read_outing(write_plan(tmp_path, groups, *acts, head=STRICT))
        ground = Ground(plan.structure, plan.outing, plan.limits)
        least = LeastLengths(ground)
        whole = work_out(plan.outing, ground, get_aheads=["g0", "g1", "g2"]).answer.totals
        if whole.ways_missing:
            continue
        for count in range(4):
            for part in combinations(("g0", "g1", "g2"), count):
                bound_s = least.total_s(plan_activities(plan.outing, part))
                assert bound_s <= whole.total_s + 1e-6
                tight += count == 3 and bound_s > 0.9 * whole.total_s
    assert tight > 0
