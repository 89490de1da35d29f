"""`gripway compare --closures`: what worksites hang on in a new revision and did not before."""

from pathlib import Path

from routing.studies.revision_closures import HangsOn, compare_hanging
from tests.cli.command_ground import assert_answer, run, schema
from tests.cli.test_cli_compare import SMALL, revised, small, without


def hanging(path: Path, protocol: str) -> dict[str, set[str]]:
    """What each worksite hangs on, as `gripway closures` has it."""
    answer = run("closures", path, "--protocol", protocol, "--json").answer
    found: dict[str, set[str]] = {one["goal"]["worksite"]: set() for one in answer["intact"]}
    for one in answer["single_points"]:
        on = [*one.get("elements", ()), *one.get("conditions", ())]
        found[one["goal"]["worksite"]] |= set(on)
    return found


def test_a_way_round_that_is_gone_changes_no_route_and_is_told(tmp_path: Path) -> None:
    new = revised(tmp_path, handrails=without("handrails", "H13"))
    found = run("compare", SMALL, new, "--closures", "--json")
    assert_answer(found, 1)
    schema("compare").validate(found.answer)
    assert found.answer["answers"] == []
    told = {(one["worksite"], one["protocol"]): one for one in found.answer["hanging"]}
    for protocol in ("leapfrog", "reel"):
        before, after = hanging(SMALL, protocol), hanging(new, protocol)
        for worksite, on in after.items():
            one = told.pop((worksite, protocol))
            assert set(one.get("now", ())) == on - before[worksite]
            assert set(one.get("no_longer", ())) == before[worksite] - on
    assert not told
    text = run("compare", SMALL, new, "--closures")
    assert_answer(text, 1)
    assert "No answer changed. HANG ON WHAT THEY DID NOT HANG ON: 6 ways" in text.out
    assert "H02, H03, H04" in text.out


def test_it_is_said_that_it_was_not_compared(tmp_path: Path) -> None:
    new = revised(tmp_path, handrails=without("handrails", "H13"))
    found = run("compare", SMALL, new)
    assert_answer(found)
    assert "What worksites hang on was NOT compared (--closures does)." in found.out
    assert "hanging" not in run("compare", SMALL, new, "--json").answer


def test_a_way_round_more_is_no_loss(tmp_path: Path) -> None:
    old = revised(tmp_path, handrails=without("handrails", "H13"))
    found = run("compare", old, SMALL, "--closures", "--protocol", "leapfrog", "--json")
    assert_answer(found)
    assert all(one["no_longer"] and not one["now"] for one in found.answer["hanging"])
    same = run("compare", SMALL, SMALL, "--closures", "--protocol", "leapfrog")
    assert_answer(same)
    assert "Closures: each worksite that has a safe way hangs on the same as before." in same.out


def test_a_worksite_that_is_lost_is_not_said_to_hang_on_less(tmp_path: Path) -> None:
    lost = revised(tmp_path, handrails=without("handrails", "H20"))
    asked = ("compare", SMALL, lost, "--closures", "--protocol", "leapfrog", "--json")
    answer = run(*asked).answer
    assert [one["worksite"] for one in answer["answers"]] == ["W2"]
    assert answer["hanging"] == []
    bare = revised(tmp_path, "bare.json", worksites=[])
    assert run("compare", bare, bare, "--closures", "--json").answer["hanging"] == []


def test_the_same_bytes_with_workers(tmp_path: Path) -> None:
    moved = [one for one in small("handrails") if one["id"] not in {"H13", "H09"}]
    new = revised(tmp_path, handrails=moved)
    asked = ("compare", SMALL, new, "--closures", "--protocol", "leapfrog", "--json")
    assert run(*asked).out == run(*asked, "--workers", "2", "--work", tmp_path / "work").out


def test_most_of_what_is_new_comes_first() -> None:
    one = frozenset({"H1"})
    old = {"reel": {"W1": one, "W2": one, "W3": one, "W5": one}}
    new = {"reel": {"W1": frozenset(), "W2": frozenset({"H2", "H3"}), "W3": one, "W4": one}}
    assert compare_hanging(old, new) == (
        HangsOn(worksite="W2", protocol="reel", now=("H2", "H3"), no_longer=("H1",)),
        HangsOn(worksite="W4", protocol="reel", now=("H1",)),
        HangsOn(worksite="W1", protocol="reel", no_longer=("H1",)),
    )
