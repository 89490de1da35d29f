"""`gripway tie`: chains of one worksite, kits by option, the picture, and wrong calls."""

from pathlib import Path

import pytest

from structures.units import length_text
from tests.cli.command_ground import (
    EVIL_ID,
    EXAMPLES,
    Outcome,
    assert_answer,
    assert_refused,
    hostile_structure,
    run,
    schema,
)

STATION = EXAMPLES["station"]


@pytest.fixture(scope="module")
def one_or_two() -> Outcome:
    return run("tie", STATION, "WE01", "--json")


def made_of(chain: dict[str, object]) -> dict[str, int]:
    parts = chain["chain"]
    assert isinstance(parts, list)
    return {part["tether"]: part["count"] for part in parts}


def test_two_tethers_from_this_handrail_but_one_from_that(one_or_two: Outcome) -> None:
    assert_answer(one_or_two)
    answer = one_or_two.answer
    schema("tie").validate(answer)
    chain = answer["tie"]["chains"][0]
    assert (chain["handrail"], made_of(chain)) == ("H6111", {"ETE01": 1})
    closed = run("tie", STATION, "WE01", "--close", "H6111", "--json").answer["tie"]
    assert (closed["chains"][0]["handrail"], made_of(closed["chains"][0])) == (
        "H6110",
        {"ETE01": 2},
    )
    two = answer["tie"]["by_two"]
    assert [one["handrail"] for one in two["chains"]] == ["H6111", "H6110"]
    assert two["held_deg"] >= 90
    assert two["seated_deg"] >= 90


def test_held_but_not_seated_with_the_first_chain_tried() -> None:
    found = run("tie", STATION, "WE02", "--json").answer["tie"]
    chain = found["chains"][0]
    assert made_of(chain) == {"ETE01": 1, "ETE02": 1}
    before = {tuple(made_of(one).items()): one["reason"] for one in found["passed_over"]}
    assert "seated position is too near by at least 7" in before[("ETE01", 2),]
    assert "held position is too far" in before[("ETE01", 1),]


def test_a_kit_without_the_short_tether_cannot_seat_it() -> None:
    found = run("tie", STATION, "WE02", "--tethers", "ETE01=4")
    assert_answer(found, 1)
    assert "WE02 Workshop edge cover: NOT TIED (no chain)." in found.out
    assert (
        "the seated position is too near by at least 75 mm (3.0 in) to cinch 2 tethers" in found.out
    )
    assert "Tried before" not in found.out


def test_text_says_margins_bound_and_drift(one_or_two: Outcome) -> None:
    found = run("tie", STATION, "WE01")
    assert_answer(found)
    answer = one_or_two.answer["tie"]["answer"]["attach"][0]
    margin, at_most = (
        length_text(answer["margin_m"], "down"),
        length_text(answer["margin_at_most_m"], "up"),
    )
    assert (
        f"margin {margin}; no place of any allowed handrail has more than {at_most} with as many "
        "tethers" in found.out
    )
    assert "chains-pull-one-way: the one line pulls toward aft while held" in found.out
    (verdict,) = (line for line in found.out.splitlines() if line.startswith("WE01 "))
    assert ": tied within the limits given, but it CAN DRIFT up to " in verdict
    assert " m toward aft while held" in verdict
    assert found == run("tie", STATION, "WE01")


def test_nothing_to_tie_and_a_kit_of_none() -> None:
    nothing = run("tie", STATION, "W01")
    assert_answer(nothing)
    assert "W01 Airlock tool stowage: nothing to tie" in nothing.out
    none = run("tie", STATION, "WE01", "--tethers", "ETE01=0")
    assert_answer(none, 1)
    assert "the kit has no tether with a hook for a handrail" in none.out


@pytest.mark.parametrize("suffix", ["svg", "png"])
def test_picture(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"tie.{suffix}"
    found = run("tie", STATION, "WE02", "--picture", path)
    assert_answer(found)
    assert f"the picture is in {path}" in found.out
    assert path.stat().st_size > 10_000
    if suffix == "svg":
        text = path.read_text()
        assert "CAUTION" in text
        assert "WE02-A1 seated" in text
        assert "plan.added-1.line" in text
        assert "H5053 at 0.39 m: 1 x ETE01 + 1 x ETE02" in text


def test_chains_side_by_side_share_a_label(tmp_path: Path) -> None:
    path = tmp_path / "tie.svg"
    run("tie", STATION, "WC501", "--picture", path)
    assert "H3040, 5 chains: 1 x ETE01 + 4 x ETE02" in path.read_text()


def test_all_that_is_wrong_is_said_at_once(tmp_path: Path) -> None:
    found = run(
        "tie", STATION, "WE0", "--tethers", "ETE1=1", "--tethers", "ETE02", "--tethers", "ETE01=1",
        "--tethers", "ETE01=2", "--close", "H1", "--picture", tmp_path / "x.txt",
    )  # fmt: skip
    assert_refused(
        found,
        "WORKSITE: no worksite has the id 'WE0'",
        "option --tethers: no equipment tether has the id 'ETE1'",
        "'ETE02' is not ID=COUNT",
        "'ETE01' is given twice",
        "option --close",
        "x.txt",
    )
    assert not (tmp_path / "x.txt").exists()


def test_nothing_to_draw_is_refused(tmp_path: Path) -> None:
    found = run("tie", STATION, "W01", "--picture", tmp_path / "x.svg")
    assert_refused(found, "W01 has nothing to tie, so there is no picture")


def test_hostile_names(tmp_path: Path) -> None:
    path = hostile_structure(tmp_path / "evil.json")
    site = f"{EVIL_ID}W1"
    found = run("tie", path, site, "--json")
    assert found.code in {0, 1}
    assert found.answer["tie"]["worksite"] == site
    assert_answer(run("tie", path, site), found.code)
