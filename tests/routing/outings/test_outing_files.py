"""Plans as files: every problem at once, with its line and the nearest known name."""

from pathlib import Path

import pytest

from routing.outings.plan_file.reader import read_outing
from structures.errors import InvalidDocumentError
from tests.routing.outings.outing_plans import HEAD, act, write_plan

EXAMPLES = Path(__file__).parents[3] / "examples"


def problems(folder: Path, *parts: str, head: str = HEAD) -> list[str]:
    with pytest.raises(InvalidDocumentError) as caught:
        read_outing(write_plan(folder, *parts, head=head))
    return [str(one) for one in caught.value.problems]


@pytest.mark.parametrize("name", ["small/outing.toml", "station/outing.toml"])
def test_examples_read(name: str) -> None:
    document = read_outing(EXAMPLES / name)
    assert document.inputs[0].name == "outing.toml"
    assert [one.name for one in document.inputs][1] in {"small.toml", "station.toml"}
    assert all(path.is_file() for path in document.paths)


def test_all_problems_are_said_at_once_with_their_lines(tmp_path: Path) -> None:
    parts = (
        act("a", "EV3", "fetch", item="lampp", at="H1"),
        act("b", "EV1", "put", item="lamp", into="bagg"),
        act("c", "EV1", "work", after=["bb"], at="W9"),
        act("a", "EV1", "work", using=["wrnch"]),
        "colour = 'red'\n",
        act("e", "EV1", "work", minutes=[3, 2, 1]),
    )
    path = write_plan(tmp_path, *parts)
    lines = path.read_text(encoding="utf-8").splitlines()
    said = problems(tmp_path, *parts)
    wanted = {
        "no person of the plan or inside or ground has the id 'EV3'; did you mean EV2 or EV1?": 0,
        "no item or item of the structure has the id 'lampp'; did you mean lamp?": 0,
        "has the id 'H1'; did you mean": 0,
        "has the id 'bagg'; did you mean bag?": 1,
        "no act or gate has the id 'bb'; did you mean b?": 2,
        "has the id 'W9'; nearest among 33: W3, W2, W1; name one, or add it first": 2,
        "the id 'a' is taken already by acts[0]": 3,
        "has the id 'wrnch'; did you mean wrench or bench?": 3,
        "the key 'colour' is not known": 3,
        "3, 2, 1 min are not low, usual and high": 4,
    }
    for text, number in wanted.items():
        (one,) = [problem for problem in said if text in problem]
        place, _, _ = one.partition(" ")
        file, _, line = place.rstrip(":").partition(":")
        assert file == "plan.toml"
        start = [i for i, row in enumerate(lines) if row == "[[acts]]"][number]
        assert start < int(line) <= start + 9, one
        assert f"acts[{number}]" in one
    assert len(said) == len(wanted)


@pytest.mark.parametrize(
    ("part", "message"),
    [
        (act("a", "EV1", "fetch", at="H01"), "fetch needs item; add item to act a"),
        (act("a", "EV1", "move", at="W1", minutes=3), "the router works out how long move takes"),
        (act("a", "EV1", "work", item="lamp"), "work does not take item, only move, carry"),
        (act("a", "EV1", "action"), "an action is done inside or on the ground"),
        (act("a", "ground", "work"), "ground does actions only"),
        (act("a", "ground+EV1", "action"), "ground does actions only, each by itself"),
        (act("a", "EV1", "wait"), "a waits for nothing"),
        (act("a", "EV1+EV1", "work"), "name somebody twice"),
        (act("a", "EV1", "work", beside="H01"), "beside is for acts done together"),
        (act("a", "EV1", "move", at="W1", way="retrace", via=["W2"]), "and no via"),
        (act("a", "EV1", "put", item="lamp", into="W1"), "has the id 'W1'"),
        (act("a", "EV1", "set-up", item="stool", at="W1"), "worksite at a socket has the id 'W1'"),
        (act("a", "EV1", "work", minutes="long"), "minutes are one number or three"),
        (act("a", "EV1", "work", minutes=[1, 2]), "minutes are one number or three"),
        (act("a", "EV1", "work", minutes=-1), "are not low, usual and high"),
        (act("a", "EV1", "work", minutes=5000), "from 0 to 1440"),
        (act("a", "EV1", "work", no_earlier_min=9, no_later_min=8), "swap them"),
        (act("a", "EV1", "wrk"), "'wrk' is not one of the choices"),
        (act("a", "EV1", "work", minutes=2, spare="extra"), "no get-ahead has the id 'extra'"),
        (act("a", "EV1", "work").replace("minutes = 2\n", ""), "work takes time; add minutes"),
    ],
)
def test_each_wrong_act_is_explained(tmp_path: Path, part: str, message: str) -> None:
    (one,) = problems(tmp_path, part)
    if "only move, carry" in message:
        message = "work does not take item"
    assert message in one
    assert "acts[0]" in one


def test_acts_that_wait_for_each_other_are_named_in_order(tmp_path: Path) -> None:
    (one,) = problems(
        tmp_path,
        act("a", "EV1", "work", after=["c"]),
        act("b", "EV1", "work"),
        act("c", "EV2", "work", after=["b"]),
    )
    assert "a after c after b after a" in one
    assert "acts[0].after" in one
    gate = '\n[[gates]]\nid = "g"\nneeds = ["b"]\nopens = ["a"]\n'
    (one,) = problems(tmp_path, act("a", "EV1", "work"), act("b", "EV1", "work"), gate)
    assert "a after g after b after a" in one


def test_gates_that_wait_for_each_other_are_named_too(tmp_path: Path) -> None:
    gates = '\n[[gates]]\nid = "g"\nneeds = ["h"]\n[[gates]]\nid = "h"\nneeds = ["g"]\n'
    (one,) = problems(tmp_path, act("a", "EV1", "work"), gates)
    assert "g after h after g" in one
    assert "gates[0].needs" in one
    gate = '\n[[gates]]\nid = "g"\nneeds = ["g"]\n'
    (one,) = problems(tmp_path, act("a", "EV1", "work"), gate)
    assert "g after g" in one


@pytest.mark.parametrize(
    ("key", "value"), [("egress_min", -3), ("ingress_min", -60), ("before_repress_min", 601)]
)
def test_blocks_of_the_clock_have_a_range(tmp_path: Path, key: str, value: int) -> None:
    head = HEAD.replace(f"{key} = 0", f"{key} = {value}.0")
    (one,) = problems(tmp_path, act("a", "EV1", "work"), head=head)
    assert f"blocks.{key}" in one
    assert f"{value}" in one


def test_no_range_of_a_plan_is_left_out() -> None:
    """A range beside a number type counts only if it comes after it."""
    from pydantic import BaseModel

    from routing.outings.plan_file import act_record, records

    kinds = {
        kind
        for module in (act_record, records)
        for kind in vars(module).values()
        if isinstance(kind, type) and issubclass(kind, BaseModel)
    }
    assert len(kinds) > 8
    for kind in kinds:
        for name, field in kind.model_fields.items():
            names = [type(one).__name__ for one in field.metadata]
            assert "_Finite" not in names[1:], (kind.__name__, name)


def test_grips_that_are_not_there_are_said_with_their_lines(tmp_path: Path) -> None:
    path = write_plan(
        tmp_path,
        act("a", "EV1", "work", at="H01@99.9"),
        act("b", "EV1+EV2", "work", at="W3", beside="H01@77"),
        act("c", "EV2", "move", at="W1", via=["H01@0.218", "H02@0.001"]),
    )
    rows = path.read_text(encoding="utf-8").splitlines()
    with pytest.raises(InvalidDocumentError) as caught:
        read_outing(path)
    said = [str(one) for one in caught.value.problems]
    for text, row in (
        ("acts[0].at: no grip has the id 'H01@99.9' (for EV1)", 'at = "H01@99.9"'),
        ("acts[1].beside: no grip has the id 'H01@77' (for EV2)", 'beside = "H01@77"'),
        ("acts[2].via[1]: no grip has the id 'H02@0.001'", 'via = ["H01@0.218", "H02@0.001"]'),
    ):
        (one,) = [one for one in said if text in one]
        assert one.startswith(f"plan.toml:{rows.index(row) + 1} ")
        assert "did you mean H0" in one
    assert len(said) == 3


def test_nothing_waits_for_a_get_ahead(tmp_path: Path) -> None:
    ahead = '\n[[get_aheads]]\nid = "more"\n'
    (one,) = problems(
        tmp_path,
        ahead,
        act("a", "EV1", "work", spare="more"),
        act("b", "EV2", "work", after=["a"]),
    )
    assert "this waits for 'a', which is part of the get-ahead 'more'" in one
    gate = '\n[[gates]]\nid = "g"\nneeds = ["a"]\n'
    (one,) = problems(tmp_path, ahead, act("a", "EV1", "work", spare="more"), gate)
    assert "gates[0].needs[0]" in one


def test_items_need_a_place_and_a_size(tmp_path: Path) -> None:
    said = problems(tmp_path, act("a", "EV1", "work"), '\n[[items]]\nid = "glove"\n')
    assert len(said) == 3
    assert "nobody says where 'glove' is at first" in said[0]
    assert "its size is not given" in said[1]
    assert "its mass is not given" in said[2]


def test_only_bags_hold_things(tmp_path: Path) -> None:
    item = '\n[[items]]\nid = "glove"\nat = "H01"\nsize = [1, 1, 1]\nmass_kg = 1.0\nkind = "bag"\n'
    (one,) = problems(tmp_path, act("a", "EV1", "work"), item)
    assert "a bag says what it holds" in one


def test_a_broken_structure_does_not_hide_the_problems_of_the_plan(tmp_path: Path) -> None:
    head = HEAD.replace("small.toml", "gone.toml")
    said = problems(tmp_path, act("a", "EV7", "work", after=["zz"]), head=head)
    assert any("gone.toml" in one for one in said)
    assert any("'EV7'" in one for one in said)
    assert any("'zz'" in one for one in said)


def test_limits_beside_the_plan_are_read(tmp_path: Path) -> None:
    limits = tmp_path / "mine.toml"
    limits.write_text('schema_version = 1\nlength_unit = "m"\nreach = 0.7\n', encoding="utf-8")
    head = HEAD.replace('name = "Test"', 'name = "Test"\nlimits = "mine.toml"')
    document = read_outing(write_plan(tmp_path, act("a", "EV1", "work"), head=head))
    assert document.limits.reach_m == 0.7
    assert document.inputs[-1].name == "mine.toml"
    limits.write_text('schema_version = 1\nlength_unit = "m"\nreech = 0.7\n', encoding="utf-8")
    (one,) = problems(tmp_path, act("a", "EV1", "work"), head=head)
    assert "did you mean reach?" in one


def test_conditions_and_closures_of_the_plan_exist(tmp_path: Path) -> None:
    head = HEAD.replace('name = "Test"', 'name = "Test"\nwhen = ["ventin"]\nclosed = ["H02", "W1"]')
    head = head.replace('name = "Test"', 'name = "Test"\nhung_past = ["W1"]')
    said = problems(tmp_path, act("a", "EV1", "work"), head=head)
    assert len(said) == 3
    assert "no zone has the id 'W1'" in said[0]
    assert "no condition has the id 'ventin'; did you mean venting?" in said[1]
    assert "closed[1]" in said[2]


def test_keys_of_an_act_are_checked_even_at_their_default(tmp_path: Path) -> None:
    (one,) = problems(tmp_path, act("a", "EV1", "work", hung=False))
    assert "work does not take hung" in one


@pytest.mark.parametrize("key", ["acts", "people"])
def test_a_plan_without_people_or_acts_says_nothing(tmp_path: Path, key: str) -> None:
    head = HEAD if key == "acts" else HEAD.replace("[[people]]", "[[get_aheads]]")
    head = head.replace('start = "hatch"\n', "").replace("reels = [1020.0, 1020.0]\n", "")
    head = head.replace("hangs = 2\n", "") if key == "people" else HEAD
    tail = "acts = []\n" if key == "acts" else ""
    said = problems(
        tmp_path, head=tail + head if key == "acts" else head + act("a", "ground", "action")
    )
    assert any(f"without {key}" in one or f"{key} is missing" in one for one in said)


def test_json_plans_are_read_too(tmp_path: Path) -> None:
    import json
    import tomllib

    plan = tomllib.loads(HEAD + act("a", "EV1", "work"))
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(plan), encoding="utf-8")
    assert read_outing(path).outing.acts[0].id == "a"
