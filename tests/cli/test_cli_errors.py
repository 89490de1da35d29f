"""Wrong calls: exit 2, every problem at once, nothing on stdout, nothing written, no traceback."""

from collections.abc import Callable
from pathlib import Path

import pytest

from routing.errors import RoutingError
from routing.graph.build import build_graph
from routing.graph.grip_names import nearest_grips
from routing.graph.situation import Situation
from structures.errors import StructureError
from structures.files.reader import read_structure
from structures.polylines import Polyline
from tests.cli.command_ground import EXAMPLES, assert_refused, copy_small, run

SMALL = EXAMPLES["small"]
PLAN = SMALL.with_name("outing.toml")


def test_everything_wrong_is_said_at_once(tmp_path: Path) -> None:
    limits = tmp_path / "limits.toml"
    limits.write_text("schema_version = 1\nlength_unit = 'm'\nreech = 0.6\n")
    found = run(
        "route", SMALL, "htch", "W9", "--via", "Z1", "--person", "ev-big", "--carry", "bog",
        "--when", "ventin", "--when", "radar", "--close", "H99", "--reel", "85", "--protocol",
        "reel", "--limits", limits, "--profile", tmp_path / "none" / "p.gif",
    )  # fmt: skip
    assert_refused(
        found,
        "FROM: no worksite, socket, handrail, handhold, hatch, tether point or grip has the id "
        "'htch'; did you mean hatch?",
        "TO: no worksite",
        "option --via: 'Z1' is the id of a zone",
        "option --person: no person has the id 'ev-big'; did you mean ev-",
        "option --carry: no item has the id 'bog'; did you mean bag?",
        "option --when: no condition has the id 'ventin'; did you mean venting?",
        "option --when: no condition has the id 'radar'",
        "option --close: no handrail, handhold, socket or tether point has the id 'H99'",
        "option --reel: '85' is not a length with its unit",
        "reech",
        "did you mean reach?",
        "option --profile: 'p.gif' has a suffix",
        "11 problems; nothing was computed or written",
    )


def test_a_broken_structure_does_not_hide_the_other_problems(tmp_path: Path) -> None:
    found = run(
        "graph", tmp_path / "gone.toml", "-o", tmp_path / "g.txt", "--limits", tmp_path / "no.toml"
    )
    assert_refused(found, "gone.toml: there is no such file", "no.toml", "'g.txt'", "3 problems")


@pytest.mark.parametrize("command", ["inspect", "reach", "graph", "route", "map"])
@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda path: path, "there is no such file"),
        (lambda path: path.mkdir() or path, "this is a folder"),
        (lambda path: path.write_text("x = [") and path, "structure.toml:1"),
        (lambda path: path.write_bytes(b"\xff\xfe\x00") and path, "UTF-16"),
    ],
)
def test_what_is_no_structure(
    tmp_path: Path, command: str, make: Callable[[Path], Path], said: str
) -> None:
    path = make(tmp_path / "structure.toml")
    rest = {
        "graph": ("-o", tmp_path / "g.json"),
        "map": ("-o", tmp_path / "m.svg"),
        "route": ("hatch", "W1"),
    }.get(command, ())
    before = sorted(tmp_path.iterdir())
    assert_refused(run(command, path, *rest), said)
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize("error", [RoutingError("this way"), StructureError("this way")])
def test_own_errors_are_messages(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("routing.paths.route.find_route", fail)
    found = run("route", SMALL, "hatch", "W1")
    assert (found.code, found.out, found.err) == (2, "", "this way\n")


@pytest.mark.parametrize(
    "error", [ZeroDivisionError("deep"), RecursionError("deep"), MemoryError("deep")]
)
def test_a_fault_of_its_own_never_looks_like_an_answer(
    monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("routing.paths.route.find_route", fail)
    monkeypatch.delenv("GRIPWAY_DEBUG", raising=False)
    found = run("route", SMALL, "hatch", "W1")
    assert (found.code, found.out) == (2, "")
    assert f"internal fault ({type(error).__name__}: deep)" in found.err
    assert "please report" in found.err
    assert "Traceback" not in found.err
    monkeypatch.setenv("GRIPWAY_DEBUG", "1")
    traced = run("route", SMALL, "hatch", "W1")
    assert (traced.code, traced.out) == (2, "")
    assert "Traceback" in traced.err


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("rote",), "No such command 'rote'"),
        (("route", SMALL), "Missing argument"),
        (("route", SMALL, "hatch", "W1", "more"), "more"),
        (("route", SMALL, "hatch", "W1", "--protocol", "rope"), "'rope'"),
        (("route", SMALL, "hatch", "W1", "--vai", "W2"), "--vai"),
        (("map", SMALL), "--output"),
        (("map", SMALL, "-o", "m.svg", "--route", "hatch"), "--route"),
        (("route", SMALL, "hatch", "H01@9.999"), "H01@"),
        (("route", SMALL, "\x1b[31mhatch\x1b[0m\n9. Let go", "W1"), "9. Let go"),
    ],
)
def test_calls_that_cannot_be_read(args: tuple[object, ...], said: str) -> None:
    found = run(*args)
    assert_refused(found, said)
    assert "\x1b" not in found.err


def test_help_is_an_answer_and_no_call_is_none() -> None:
    for args in (("--help",), ("route", "-h"), ("map", "--help")):
        assert run(*args).code == 0
    text = run("--help").out
    assert "GRIPWAY_DEBUG" in text
    assert "Usage: gripway" in text
    for name in ("start", "inspect", "graph", "route", "reach", "map", "schema"):
        assert f"\n  {name} " in text
    assert run().code == 2
    assert run().out == text


def test_two_people_of_one_name_are_told_apart(tmp_path: Path) -> None:
    path = copy_small(tmp_path / "in")
    path.write_text(path.read_text().replace("Smaller person", "Larger person"))
    found = run("route", path, "hatch", "W1", "--person", "Larger person")
    assert_refused(found, "is given 2 times", "ev-large, ev-small")


@pytest.mark.parametrize(
    ("key", "value", "remedy"),
    [
        ("grip_spacing", "1e-9", "at least 0.01 m"),
        ("gap_s", "1e308", "at most 86400"),
        ("turn_s_per_rad", "1e308", "at most 86400"),
        ("face_change_s", "1e308", "at most 86400"),
        ("transfer_s", "1e308", "at most 86400"),
        ("rate", "1e-300", "below 1e-09 m"),
        ("load_rate_factor", "1e-300", "at least 0.001"),
    ],
)
def test_limits_that_no_sum_or_memory_holds(
    tmp_path: Path, key: str, value: str, remedy: str
) -> None:
    limits = tmp_path / "limits.toml"
    limits.write_text(f"schema_version = 1\nlength_unit = 'm'\n{key} = {value}\n")
    found = run("route", SMALL, "hatch", "W1", "--limits", limits)
    assert_refused(found, f"limits.toml:3 {key}", remedy)


@pytest.mark.parametrize(
    ("args", "allowed"),
    [
        (("route", SMALL, "hatch", "W1", "--best", "foo"), "seconds, transfers, exposure"),
        (("route", SMALL, "hatch", "W1", "--protocol", "x"), "option --protocol: "),
        (("reach", SMALL, "--only", "home"), "option --only: "),
        (("reach", SMALL, "--only", "home"), "is not allowed; give tether. See"),
        (("choices", SMALL, "hatch", "W1", "--count", "0"), "give a whole number from 1 to 12."),
        (("choices", SMALL, "hatch", "W1", "--overlap", "500"), "give a number from 0 to 0.99."),
        (("outing", SMALL, "--late", "-5"), "option --late: "),
        (("outing", SMALL, "--spread", "0"), "give a whole number from 2 to 200000."),
        (("outing", SMALL, "--seed", "-1"), "give a whole number of at least 0."),
    ],
)
def test_options_say_what_they_take_in_our_own_words(
    args: tuple[object, ...], allowed: str
) -> None:
    found = run(*args)
    assert found.code == 2
    assert not found.out
    assert allowed in found.err
    assert "is not allowed; give " in found.err
    for of_the_library in ("Value error", "Input should", "Invalid value", "not in the range"):
        assert of_the_library not in found.err


def test_a_grip_that_is_not_there_is_told_by_its_distance() -> None:
    rail = next(one for one in read_structure(SMALL).handrails if one.id == "H03")
    length_m = Polyline.through(rail.points_m).length_m
    grips = nearest_grips("H03@0.3", _grips_of("H03"))
    found = run("route", SMALL, "hatch", "H03@0.3")
    assert_refused(found, f"did you mean {' or '.join(grips)}?")
    away_m = [abs(float(one.partition("@")[2]) - 0.3) for one in grips]
    assert away_m == sorted(away_m)
    found = run("route", SMALL, "hatch", "H03@99")
    assert_refused(found, f"'H03@99' (handrail H03 is {length_m:.3f} m long)")


def _grips_of(rail: str) -> list[str]:
    ids = build_graph(read_structure(SMALL), Situation()).grips.ids
    return [one for one in ids if one.startswith(f"{rail}@")]


def test_a_folder_is_named_as_it_was_typed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for command in (("route", ".", "hatch", "W1"), ("outing", "."), ("inspect", ".")):
        assert_refused(run(*command), ".: this is a folder, not a document; name the .toml or")


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("outing", SMALL), "small.toml: this is a structure, not a plan of an outing; give it"),
        (("inspect", PLAN), "outing.toml: this is a plan of an outing, not a structure; give it"),
        (("inspect", SMALL, "--limits", SMALL), "this is a structure, not a file of limits"),
        (("inspect", SMALL, "--limits", PLAN), "this is a plan of an outing, not a file of limits"),
    ],
)
def test_a_document_of_another_kind_is_one_problem(args: tuple[object, ...], said: str) -> None:
    found = run(*args)
    assert_refused(found, said, "1 problem; nothing was computed or written")


def test_a_structure_with_a_stray_list_is_still_a_structure(tmp_path: Path) -> None:
    path = copy_small(tmp_path / "small")
    path.write_text(path.read_text() + '\n[[acts]]\nid = "A1"\n')
    assert_refused(run("inspect", path), "the key 'acts' is not known")


@pytest.mark.parametrize(
    ("option", "call"),
    [
        ("--overlap", ("choices", SMALL, "hatch", "W1")),
        ("--later", ("both", SMALL, "--first", "hatch", "W1", "--second", "hatch", "W2")),
        ("--late", ("outing", SMALL.parent / "outing.toml", "--at", "x")),
    ],
)
def test_what_is_no_number_is_in_no_range(option: str, call: tuple[str | Path, ...]) -> None:
    assert_refused(run(*call, option, "nan"), option, "give a number from")
