"""The best order and split of errands, against planning every arrangement there is."""

from dataclasses import replace
from pathlib import Path

import pytest

from routing.outings.choosing.arrangement import Arrangement, arranged, pools_of
from routing.outings.choosing.errand_order import ErrandOrder, arrange_errands
from routing.outings.choosing.get_aheads import choose_get_aheads
from routing.outings.choosing.order_search import Beginning
from routing.outings.clock.activity_plan import ActivityPlan, plan_activities
from routing.outings.plan import put_on_clock, work_out_plan
from routing.outings.plan_file.reader import OutingDocument, read_outing
from routing.outings.translations import Ground
from structures.errors import InvalidDocumentError
from tests.routing.outings.outing_plans import HEAD, act, write_plan
from tests.routing.outings.test_outing_order_search import arrangements, key

ERRANDS = """
[[errands]]
id = "lamp-work"

[[errands]]
id = "locker"

[[errands]]
id = "valve"
who = ["EV1", "EV2"]

[[errands]]
id = "far"
"""

ACTS = (
    act("first", "EV1", "work", at="H02", minutes=3),
    act("second", "EV2", "work", at="H01", minutes=1),
    # --- errands: all of them with EV1 at first ---
    act("valve-1", "EV1", "work", at="W3", minutes=6, errand="valve"),
    act("lamp-1", "EV1", "fetch", item="lamp", at="H01", minutes=1, errand="lamp-work"),
    act("lamp-2", "EV1", "put", item="lamp", at="W1", minutes=2, errand="lamp-work"),
    act("locker-1", "EV1", "work", at="W1", minutes=5, errand="locker", after=["lamp-2"]),
    act("far-1", "EV1", "work", at="SK4", minutes=4, errand="far"),
    # --- and home ---
    act("last", "EV2", "work", at="H03", minutes=2),
    act("home-1", "EV1", "move", at="hatch", way="recover"),
    act("home-2", "EV2", "move", at="hatch", way="recover"),
)


def document(folder: Path, *parts: str) -> OutingDocument:
    return read_outing(write_plan(folder, *(parts or (ERRANDS, *ACTS))))


def total_s(plan: OutingDocument, ground: Ground, chosen: Arrangement) -> float:
    """Return the length of an arrangement; infinite where it is not clean."""
    pools = pools_of(plan.outing, (), ())
    try:
        acts = plan_activities(arranged(plan.outing, pools, chosen))
    except ValueError:  # acts wait for each other
        return float("inf")
    answer = work_out_plan(acts, ground).answer
    return answer.totals.total_s if answer.clean else float("inf")


@pytest.fixture(name="plan", scope="module")
def read_plan(tmp_path_factory: pytest.TempPathFactory) -> OutingDocument:
    return document(tmp_path_factory.mktemp("errands"))


@pytest.fixture(name="ground", scope="module")
def shared_ground(plan: OutingDocument) -> Ground:
    return Ground(plan.structure, plan.outing, plan.limits)


@pytest.fixture(name="totals", scope="module")
def every_arrangement(
    plan: OutingDocument, ground: Ground
) -> dict[tuple[tuple[tuple[str, ...], ...], ...], float]:
    (pool,) = pools_of(plan.outing, (), ())
    assert pool == ("valve", "lamp-work", "locker", "far")
    return {key(one): total_s(plan, ground, one) for one in arrangements([pool])}


def test_the_best_order_is_that_of_planning_every_one(
    plan: OutingDocument,
    ground: Ground,
    totals: dict[tuple[tuple[tuple[str, ...], ...], ...], float],
) -> None:
    assert len(totals) == 120
    assert float("inf") in totals.values()  # some cannot be done: the locker comes after the lamp
    order = ErrandOrder(plan.outing, ground)
    found = order.best()
    assert found.proven
    assert found.total_s == pytest.approx(min(totals.values()))
    assert found.chosen is not None
    assert totals[key(found.chosen)] == pytest.approx(found.total_s)
    assert found.answer is not None
    assert found.answer.answer.clean
    assert found.total_s < totals[key(order.first)] - 60
    assert found.planned < len(totals) / 2  # the bounds are of use
    record = order.record(found, totals[key(order.first)])
    assert record.changed
    assert {row.id: row.planned_person for row in record.rows} == dict.fromkeys(order.may, "EV1")
    assert {row.person for row in record.rows} == {"EV1", "EV2"}


def test_no_bound_says_too_much(
    plan: OutingDocument,
    ground: Ground,
    totals: dict[tuple[tuple[tuple[str, ...], ...], ...], float],
) -> None:
    """Every beginning of every arrangement is bounded by what the arrangement takes.

    Also where one person waits for an errand of the other, who has more to do after it.
    """
    order = ErrandOrder(plan.outing, ground)
    near = 0
    for (whole,), length_s in totals.items():
        for first in range(len(whole[0]) + 1):
            begun = (whole[0][:first], ())
            left = tuple(one for one in order.may if one not in begun[0])
            assert order.bound(Beginning((begun,), 0, left)) <= length_s + 1e-6
        for second in range(len(whole[1]) + 1):
            begun = (whole[0], whole[1][:second])
            left = tuple(one for one in order.may if one not in {*begun[0], *begun[1]})
            bound_s = order.bound(Beginning((begun,), 1, left))
            assert bound_s <= length_s + 1e-6
            near += not left and bound_s > 0.9 * length_s
    assert order.bound(Beginning((), 0, ())) <= min(totals.values())
    assert near > 20


def test_who_may_and_the_cutoff_count(tmp_path: Path, ground: Ground) -> None:
    text = ERRANDS.replace('id = "far"', 'id = "far"\nwho = ["EV1"]').replace(
        'who = ["EV1", "EV2"]', 'who = ["EV1"]'
    )
    plan = document(tmp_path, text, *ACTS)
    order = ErrandOrder(plan.outing, ground)
    found = order.best()
    assert found.chosen is not None
    assert {"far", "valve"} <= set(found.chosen[0]["EV1"])
    none = order.best(cutoff_s=found.total_s - 1)
    assert none.chosen is None
    assert order.best(cutoff_s=found.total_s).chosen == found.chosen


def test_giving_up_says_so(plan: OutingDocument, ground: Ground) -> None:
    order = ErrandOrder(plan.outing, ground)
    best_s, early = order.best().total_s, order.best(most_opened=4)
    assert not early.proven
    assert early.at_least_s <= best_s <= early.total_s


def test_two_pools_and_left_out_errands(tmp_path: Path) -> None:
    spare = '\n[[get_aheads]]\nid = "more"\n'
    acts = [one.replace('errand = "far"', 'errand = "far"\nspare = "more"') for one in ACTS]
    acts.insert(5, act("between", "EV1", "work", at="H04", minutes=1))
    plan = document(tmp_path, ERRANDS, spare, *acts)
    assert pools_of(plan.outing, (), ()) == [("valve", "lamp-work"), ("locker",)]
    pools = pools_of(plan.outing, ("more",), ())
    assert pools == [("valve", "lamp-work"), ("locker", "far")]
    ground = Ground(plan.structure, plan.outing, plan.limits)
    for get_aheads in ((), ("more",)):
        pools = pools_of(plan.outing, get_aheads, ())
        lengths = []
        for chosen in arrangements(pools):
            try:
                changed = plan_activities(arranged(plan.outing, pools, chosen), get_aheads)
            except ValueError:
                continue
            answer = work_out_plan(changed, ground).answer
            lengths += [answer.totals.total_s] if answer.clean else []
        found = ErrandOrder(plan.outing, ground, get_aheads).best()
        assert found.proven
        assert found.total_s == pytest.approx(min(lengths))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('errand = "far"', 'errand = "fat"', "no errand has the id 'fat'; did you mean far?"),
        ('id = "far"\n', 'id = "far"\nwho = ["EV2"]\n', "EV1 does the errand 'far', but only EV2"),
        ('id = "far"\n', 'id = "far"\nwho = ["EV3"]\n', "no person of the plan has the id 'EV3'"),
        (
            'item = "lamp"\nat = "W1"\nerrand = "lamp-work"',
            'item = "lamp"\nat = "W1"\nerrand = "far"',
            "'locker-1' stands between acts of the errand 'far', which is done in a row",
        ),
        (
            'who = ["EV1"]\ndoes = "put"',
            'who = ["EV2"]\ndoes = "put"',
            "acts of the errand 'lamp-work' differ in who",
        ),
        (
            'who = ["EV1"]\ndoes = "work"\nminutes = 4\nat = "SK4"',
            'who = ["EV1", "EV2"]\ndoes = "work"\nminutes = 4\nat = "SK4"',
            "an errand is done by one person outside alone",
        ),
        ('minutes = 4\nat = "SK4"', "minutes = 4", "the errand 'far' begins nowhere"),
        (ACTS[6], "", "no act is part of the errand 'far'"),
    ],
)
def test_errands_that_cannot_be_moved_are_refused(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    text = "".join((ERRANDS, *ACTS))
    assert old in text
    with pytest.raises(InvalidDocumentError) as error:
        read_outing(write_plan(tmp_path, text.replace(old, new, 1), head=HEAD))
    assert said in str(error.value)


SPARE = """
[[get_aheads]]
id = "g-far"
worth = 2.0

[[get_aheads]]
id = "g-valve"
worth = 3.0
"""


def with_get_aheads(folder: Path, planned_min: float) -> OutingDocument:
    acts = [
        one.replace('errand = "far"', 'errand = "far"\nspare = "g-far"').replace(
            'errand = "valve"', 'errand = "valve"\nspare = "g-valve"'
        )
        for one in ACTS
    ]
    limit = f"\n[outing_limits]\nplanned_min = {planned_min}\n"
    return read_outing(write_plan(folder, ERRANDS, SPARE, *acts, head=HEAD + limit))


class EveryArrangement:
    """Each arrangement with each set of get-aheads, planned once for all planned lengths asked."""

    def __init__(self, plan: OutingDocument) -> None:
        self.outing = plan.outing
        self.ground = Ground(plan.structure, plan.outing, plan.limits)
        self._acts: dict[tuple[str, ...], list[tuple[float, ActivityPlan]]] = {}
        self._clean: dict[ActivityPlan, bool] = {}

    def of(self, chosen: tuple[str, ...]) -> list[tuple[float, ActivityPlan]]:
        """Return the lengths [s] with their acts; those whose acts wait for each other are none."""
        if chosen not in self._acts:
            pools = pools_of(self.outing, chosen, ())
            found = []
            for one in arrangements(pools):
                try:
                    acts = plan_activities(arranged(self.outing, pools, one), chosen)
                except ValueError:
                    continue
                found.append((put_on_clock(acts, self.ground).total_s, acts))
            self._acts[chosen] = found
        return self._acts[chosen]

    def is_clean(self, acts: ActivityPlan) -> bool:
        if acts not in self._clean:
            self._clean[acts] = work_out_plan(acts, self.ground).answer.clean
        return self._clean[acts]


LONGEST_MIN = 40


@pytest.fixture(name="every", scope="module")
def every_with_get_aheads(tmp_path_factory: pytest.TempPathFactory) -> EveryArrangement:
    """What is planned for a length is clean in a longer one, and the other way if it fits."""
    return EveryArrangement(with_get_aheads(tmp_path_factory.mktemp("every"), LONGEST_MIN))


@pytest.mark.parametrize("planned_min", [16, 19, 22, 26, LONGEST_MIN])
def test_get_aheads_are_chosen_over_all_arrangements(
    tmp_path: Path, planned_min: float, every: EveryArrangement
) -> None:
    plan = with_get_aheads(tmp_path, planned_min)
    ground = Ground(plan.structure, plan.outing, plan.limits)
    choice = choose_get_aheads(plan.outing, ground, arrange=True)
    lengths: dict[tuple[str, ...], float] = {}
    best_acts: dict[tuple[str, ...], ActivityPlan] = {}
    for chosen in ((), ("g-far",), ("g-valve",), ("g-far", "g-valve")):
        for total_s, acts in every.of(chosen):
            if total_s > min(60 * planned_min, lengths.get(chosen, float("inf"))):
                continue
            if every.is_clean(acts):
                lengths[chosen], best_acts[chosen] = total_s, acts
    if () not in lengths:
        assert "not clean" in choice.reason
        return
    worth = {"g-far": 2.0, "g-valve": 3.0}
    best = max(lengths, key=lambda one: (sum(worth[x] for x in one), -lengths[one]))
    assert choice.chosen == best
    assert choice.proven
    # It is clean by the limits of this plan, too.
    limits = {"outing_limits": plan.outing.outing_limits}
    acts = best_acts[best]
    acts = replace(acts, outing=acts.outing.model_copy(update=limits))
    assert work_out_plan(acts, ground).answer.clean


def test_nothing_to_arrange_says_why(tmp_path: Path) -> None:
    plan = document(tmp_path, *(one.partition("errand = ")[0] for one in ACTS))
    ground = Ground(plan.structure, plan.outing, plan.limits)
    same, record = arrange_errands(plan.outing, ground)
    assert same == plan.outing
    assert record.reason == "the plan has no errands"
