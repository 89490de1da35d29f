"""What acts ask the worksites: each answer, and what cannot be answered; two people at once."""

from dataclasses import replace
from pathlib import Path

import pytest

from routing.outings.plan import PlannedOuting, work_out
from routing.outings.plan_file.reader import read_outing
from routing.outings.safety.together_checks import check_hand_overs
from routing.outings.sites.site_checks import check_sites
from routing.outings.translations import Ground
from structures.elements import Zone
from structures.shapes import Box, Sphere
from tests.routing.outings.outing_plans import act, codes, planned, write_plan

STATION = Path(__file__).parents[3] / "examples" / "station" / "station.toml"
HEAD = f"""
schema_version = 1
length_unit = "m"
name = "Cable"
structure = "{STATION}"

[[people]]
id = "EV1"
person = "ev-large"
start = "hatch"
reels = [25.908, 25.908]

[[items]]
id = "cable-drum"
kind = "cable"
ends_anywhere = true
"""
LAY = act("t", "EV1", "fetch", item="cable-drum", at="SK02") + act(
    "lay", "EV1", "lay-cable", item="cable-drum", at="W03", to="W24", plugs=["CNE01", "CNE02"]
)
BACK = act("home", "EV1", "move", at="hatch", way="recover")


@pytest.fixture(name="cable", scope="module")
def laid_cable(tmp_path_factory: pytest.TempPathFactory) -> PlannedOuting:
    path = tmp_path_factory.mktemp("plan") / "plan.toml"
    path.write_text(HEAD + LAY + BACK, encoding="utf-8")
    document = read_outing(path)
    ground = Ground(document.structure, document.outing, document.limits)
    return work_out(document.outing, ground)


def asked(plan: PlannedOuting, length_m: float, **keys: object) -> list[tuple[str, float | None]]:
    """Ask again with a cable of another length, and the laying act changed."""
    structure = plan.ground.structure
    cables = tuple(one.model_copy(update={"length_m": length_m}) for one in structure.cables)
    ground = Ground(
        structure.model_copy(update={"cables": cables}), plan.outing, plan.ground.limits
    )
    acts = tuple(
        one.model_copy(update=keys) if one.id == "lay" else one for one in plan.schedule.plan.acts
    )
    schedule = replace(plan.schedule, plan=replace(plan.schedule.plan, acts=acts))
    found = check_sites(schedule, ground, plan.stock)
    return [(one.code, one.value) for one in found]


def test_a_cable_that_is_long_enough(cable: PlannedOuting) -> None:
    assert asked(cable, 7.25) == []


def test_a_cable_that_is_too_short(cable: PlannedOuting) -> None:
    """Too short over its ties, and for the straight line between the sites it is laid to."""
    found = dict(asked(cable, 5.0))
    assert found.keys() == {"cable-too-short", "cable-does-not-reach"}
    assert found["cable-too-short"] == pytest.approx(6.979, abs=1e-3)
    needed_m = found["cable-does-not-reach"]
    assert needed_m is not None
    assert 5.0 < needed_m <= 7.0


def test_without_connectors_the_run_is_not_checked(cable: PlannedOuting) -> None:
    assert asked(cable, 7.25, plugs=()) == [("not-checked", None)]


def test_who_gives_must_reach_who_takes(tmp_path: Path) -> None:
    """Both reach 0.56 m (22 in) and 0.6604 m (26 in) or the limit: twice that at most."""
    lamp = act("t", "EV1", "fetch", item="lamp", at="H01")
    far = act("g", "EV1+EV2", "put", item="lamp", into="EV2", at="W1", beside="H01")
    assert codes(tmp_path, lamp, far) == [("out-of-reach-of-each-other", "g")]
    answer = planned(tmp_path, lamp, far).answer
    (one,) = [f for f in answer.findings if f.code == "out-of-reach-of-each-other"]
    assert one.value is not None
    assert one.limit is not None
    assert one.value > one.limit


GIVE = act("t", "EV1", "fetch", item="lamp", at="H01@0.000") + act(
    "g", "EV1+EV2", "put", item="lamp", into="EV2", at="H01@0.000", beside="H01@0.871"
)


def given(folder: Path, volume: Sphere | Box, applies_to: str) -> list[tuple[str, str | None]]:
    document = read_outing(write_plan(folder, GIVE))
    zone = Zone.model_construct(
        id="Z9", kind="keep-out", volume=volume, applies_to=(applies_to,), when=()
    )
    structure = document.structure
    changed = structure.model_copy(update={"zones": (*structure.zones, zone)})
    ground = Ground(changed, document.outing, document.limits)
    plan = work_out(document.outing, ground)
    found = check_hand_overs(plan.schedule, ground, plan.stock)
    return [(one.code, one.act) for one in found]


def test_what_is_given_must_not_go_through_a_zone(tmp_path: Path) -> None:
    """H01 is 1.52 m of straight rail along x at z -1.58 m; the two stand 0.87 m apart on it."""
    assert codes(tmp_path, GIVE) == []
    begin_m = 32.25 * 0.0254
    wall = Box(center_m=(begin_m + 0.38, 0.0, -2.0), size_m=(0.02, 3.0, 3.0))
    assert given(tmp_path, wall, "item") == [("hand-over-blocked", "g")]
    assert given(tmp_path, wall, "tether") == []
    # Over a low one the hands meet.
    ball = Sphere(center_m=(begin_m + 0.38, 0.0, -1.58), radius_m=0.05)
    assert given(tmp_path, ball, "item") == []


def test_nobody_is_where_another_is(tmp_path: Path) -> None:
    one = act("a", "EV1", "work", at="W3", minutes=30)
    assert codes(tmp_path, one, act("b", "EV2", "work", at="W3")) == [("same-place", "a")]
    after = act("b", "EV2", "wait", after=["c"]) + act("d", "EV2", "work", at="W3")
    assert codes(tmp_path, one, act("c", "EV1", "move", at="hatch"), after) == []
    assert codes(tmp_path, act("w", "EV1+EV2", "work", at="H02")) == [("same-place", "w")]
    beside = act("w", "EV1+EV2", "work", at="H02@0.000", beside="H02@1.524")
    assert codes(tmp_path, beside) == []


def test_a_restraint_without_data_is_not_checked(tmp_path: Path) -> None:
    stool = act("t", "EV1", "fetch", item="stool", at="H01")
    set_up = act("s", "EV1", "set-up", item="stool", at="SK4")
    answer = planned(tmp_path, stool, set_up, act("i", "EV1", "get-in", item="stool")).answer
    (one,) = [f for f in answer.findings if f.code == "not-checked"]
    assert (one.act, one.severity) == ("i", "notes")
    assert "the structure lists no [[restraints]]" in one.remedy
    assert 'model = "standard"' in one.remedy


def test_the_built_in_restraint_is_asked_about_if_the_plan_names_it(tmp_path: Path) -> None:
    perch = (
        '[[items]]\nid = "perch"\nkind = "restraint"\nat = "SK2"\nends_anywhere = true\n'
        'size = [8.0, 2.0, 2.0]\nmass_kg = 1.0\nmodel = "standard"\n'
    )
    there = act("m", "EV1", "move", at="W3")
    answer = planned(tmp_path, perch, there, act("i", "EV1", "get-in", item="perch")).answer
    assert not [f for f in answer.findings if f.code == "not-checked" and f.act == "i"]
    (one,) = [f for f in answer.findings if f.code == "built-in-restraint"]
    assert (one.act, one.severity, one.elements) == ("i", "warns", ("standard",))
