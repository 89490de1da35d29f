"""`gripway map`: a whole drawing or none, with what is drawn said beside it."""

import re
from hashlib import sha256
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from structures.counting import counted
from structures.files.reader import read_structure
from tests.cli.command_ground import EXAMPLES, assert_answer, assert_refused, run, schema

SMALL, STATION = EXAMPLES["small"], EXAMPLES["station"]
HEADS = {"svg": b"<?xml", "png": b"\x89PNG\r\n\x1a\n", "pdf": b"%PDF-"}


def names(folder: Path) -> list[str]:
    return sorted(one.name for one in folder.iterdir())


@pytest.mark.parametrize("kind", sorted(HEADS))
def test_each_format_by_suffix(tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"map.{kind}"
    found = run("map", SMALL, "-o", path, "--route", "hatch", "W1")
    assert_answer(found)
    assert path.read_bytes().startswith(HEADS[kind])
    assert "hatch to W1: answered and safe" in found.out
    assert f"the drawing is in {path}" in found.out
    assert names(tmp_path) == [path.name]


def test_station_with_two_people_on_reels(tmp_path: Path) -> None:
    path = tmp_path / "map.svg"
    found = run(
        "map", STATION, "-o", path, "--route", "hatch", "W12", "--second", "hatch", "W07",
        "--protocol", "reel", "--reel", "85ft", "--reel", "55ft", "--view", "plan",
    )  # fmt: skip
    assert_answer(found)
    assert "1 reel of 25.91 m (85.0 ft), 1 reel of 16.76 m (55.0 ft)" in found.out
    text = " ".join(ET.parse(path).getroot().itertext())
    assert "not certified for flight" in text
    assert "hatch to W12" in text
    for outcome in (line.split(": ", 1)[1] for line in found.out.splitlines()[2:4]):
        assert " ".join(outcome.split(", transfers")[0].split()) in " ".join(text.split())
    assert "protocol reel, 1 reel of 25.91 m (85.0 ft), 1 reel of 16.76 m (55.0 ft)" in text
    assert "reach and rate of the limits" in text


def test_paper_names_every_file_read_as_texts_do(tmp_path: Path) -> None:
    limits = tmp_path / "slow.toml"
    limits.write_text('schema_version = 1\nlength_unit = "m"\nrate = 0.1\n')
    path = tmp_path / "map.svg"
    assert_answer(run("map", SMALL, "-o", path, "--limits", limits))
    shown = " ".join("".join(ET.parse(path).getroot().itertext()).split())
    for file in (SMALL, SMALL.parent / "handrails.csv", limits):
        assert f"{file.name} {sha256(file.read_bytes()).hexdigest()[:12]}" in shown


def test_text_and_json_tell_what_the_sheet_leaves_out(tmp_path: Path) -> None:
    """The header of each view counts it; the same counts, and which they are."""
    path = tmp_path / "map.svg"
    asked = ("map", STATION, "-o", path, "--sheet", "A4")
    found = run(*asked, "--json")
    schema("map").validate(found.answer)
    left_out = found.answer["left_out"]
    headers = re.findall(
        r"(\d+ \w[^:]*) not shown: no room", "".join(ET.parse(path).getroot().itertext())
    )
    for view, header in zip(("plan", "starboard"), headers, strict=True):
        of_view = {one["what"]: one["texts"] for one in left_out if one["view"] == view}
        counts = ", ".join(counted(len(texts), what) for what, texts in of_view.items())
        assert header == counts
    assert all(one["texts"] == sorted(one["texts"]) for one in left_out)
    ids = {one.id for _, one in read_structure(STATION).elements()}
    assert {text for one in left_out if one["what"] == "id" for text in one["texts"]} <= ids
    out = run(*asked).out
    for one in left_out:
        said = f"  {one['view']}: {counted(len(one['texts']), one['what'])}: "
        assert f"{said}{'; '.join(one['texts'])}\n" in out
    small = run("map", SMALL, "-o", path)
    assert "NOT SHOWN" not in small.out


def test_plain_map_builds_no_graph(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("routing.graph.build.build_graph", lambda *_: pytest.fail("not needed"))
    assert_answer(run("map", SMALL, "-o", tmp_path / "map.svg"))
    assert "protocol" not in run("map", SMALL, "-o", tmp_path / "map.svg").out


def test_a_route_that_is_not_there_is_said_on_paper_too(tmp_path: Path) -> None:
    path = tmp_path / "map.svg"
    found = run("map", SMALL, "-o", path, "--route", "hatch", "W1", "--close", "H04,H05")
    assert_refused(found, "no handrail, handhold, socket or tether point has the id 'H04,H05'")
    found = run(
        "map", SMALL, "-o", path, "--route", "hatch", "W1", "--close", "H04", "--close", "H05"
    )
    assert_answer(found, 1)
    assert "hatch to W1: NO ROUTE" in found.out
    assert "UNSAFE OR WITHOUT ROUTE" in path.read_text()
    assert "Shown whole: there is no route" not in path.read_text()
    assert_answer(
        run(
            "map", SMALL, "-o", path, "--route", "hatch", "W1", "--close", "H04", "--close", "H05",
            "--around",
        ),
        1,
    )  # fmt: skip
    assert "Shown whole: there is no route to show the region of" in path.read_text()


def test_same_call_same_bytes_and_replaced_whole(tmp_path: Path) -> None:
    path = tmp_path / "map.svg"
    drawn = []
    for _ in range(2):
        assert run("map", SMALL, "-o", path, "--skin", "module", "--route", "hatch", "W1").code == 0
        drawn.append(path.read_bytes())
    assert drawn[0] == drawn[1]
    assert names(tmp_path) == ["map.svg"]


def test_the_faces_of_a_box_are_drawn(tmp_path: Path) -> None:
    path = tmp_path / "faces.svg"
    assert run("map", SMALL, "-o", path, "--skin", "locker").code == 0
    drawn = path.read_text()
    assert "FORWARD FACE" in drawn
    assert "of Locker, 2.032 x 3.048 m" in drawn
    found = run("map", STATION, "-o", tmp_path / "m.svg", "--skin", "tank-1")
    assert_refused(found, "solid 'tank-1' is a sphere", "boxes have faces")


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--view", "above"), "no view 'above'"),
        (("--view", "plan", "--view", "plan"), "each once"),
        (("--skin", "modul"), "did you mean module"),
        (("--sheet", "A9"), "the sheets are A0,"),
        (("--route", "hatch", "W9"), "did you mean W3"),
        (("--route", "hatch", "hatch"), "leads nowhere"),
        (("--reel", "85ft"), "option --reel"),
    ],
)
def test_what_cannot_be_drawn_leaves_what_was_there(
    tmp_path: Path, options: tuple[str, ...], said: str
) -> None:
    path = tmp_path / "map.svg"
    path.write_text("before")
    assert_refused(run("map", SMALL, "-o", path, *options), said)
    assert path.read_text() == "before"
    assert names(tmp_path) == ["map.svg"]


def test_wrong_options_are_said_together_and_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("routing.graph.build.build_graph", lambda *_: pytest.fail("too late"))
    found = run(
        "map", SMALL, "-o", tmp_path / "m.svg", "--route", "hatch", "W1", "--view", "above",
        "--skin", "lock", "--sheet", "napkin", "--close", "H99",
    )  # fmt: skip
    assert_refused(found, "no view 'above'", "did you mean locker", "no sheet 'napkin'", "'H99'")


@pytest.mark.parametrize(
    ("sheet", "millimetres"), [("a4", (297, 210)), ("Tabloid", (431.8, 279.4)), ("A1", (841, 594))]
)
def test_sheet_sets_the_size_of_the_paper(
    tmp_path: Path, sheet: str, millimetres: tuple[float, float]
) -> None:
    path = tmp_path / "map.svg"
    assert_answer(run("map", SMALL, "-o", path, "--sheet", sheet, "--view", "plan"))
    root = ET.parse(path).getroot()
    found = [
        float(root.attrib[side].removesuffix("pt")) / 72 * 25.4 for side in ("width", "height")
    ]
    assert found == pytest.approx(millimetres, abs=0.5)


def test_json_says_what_was_written_and_how_it_went(tmp_path: Path) -> None:
    path = tmp_path / "map.svg"
    found = run(
        "map", SMALL, "-o", path, "--route", "hatch", "W1", "--second", "hatch", "W2",
        "--close", "H04", "--close", "H05", "--json",
    )  # fmt: skip
    assert_answer(found, 1)
    schema("map").validate(found.answer)
    assert found.answer["written"] == {
        "name": str(path), "sha256": sha256(path.read_bytes()).hexdigest(),
        "bytes": path.stat().st_size,
    }  # fmt: skip
    assert not found.answer["safe"]
    assert found.answer["trips"][0]["verdict"] == "no route"
    plain = run("map", SMALL, "-o", path, "--json")
    schema("map").validate(plain.answer)
    assert (plain.code, plain.answer["trips"], plain.answer["safe"]) == (0, [], True)


def test_near_shows_only_the_box_round_chosen_elements(tmp_path: Path) -> None:
    path = tmp_path / "map.svg"
    found = run(
        "map", SMALL, "-o", path, "--near", "W1", "--near", "H04", "--within", "1.5",
        "--view", "plan", "--json",
    )  # fmt: skip
    assert_answer(found)
    assert (found.answer["near"], found.answer["within_m"]) == (["W1", "H04"], 1.5)
    shown = " ".join(ET.parse(path).getroot().itertext())
    assert "part only, inside the frame: X" in shown
    assert "the box 1.5 m round W1, H04" in " ".join(shown.split())


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--near", "W1x"), "option --near: nothing that has a place has the id 'W1x'; did you"),
        (("--near", "W1", "--within", "-1"), "option --within: -1 m; give 0.1 to 100 m"),
        (("--near", "W1", "--within", "nan"), "option --within: nan m"),
        (("--within", "2"), "add --near ID"),
        (("--within", "0"), "add --near ID"),
        (
            ("--near", "W1", "--around", "--route", "hatch", "W1"),
            "leave one of --around and --near out",
        ),
        (("--near", "W1", "--skin", "module"), "leave one of --near and --skin out"),
        (("--around",), "option --around: there is no route on this map; add --route FROM TO"),
        (
            ("--around", "--skin", "module", "--route", "hatch", "W1"),
            "a skin is drawn whole; leave one of --around and --skin out",
        ),
        (("--view", "plan", "--skin", "module"), "leave one of --view and --skin out"),
        (("--person", "EV1"), "option --person: there is no route on this map"),
        (("--carry", "tool-bag"), "option --carry: there is no route on this map"),
    ],
)
def test_a_region_that_is_none_is_refused(
    tmp_path: Path, options: tuple[str, ...], said: str
) -> None:
    found = run("map", SMALL, "-o", tmp_path / "map.svg", *options)
    assert_refused(found, said)
    assert names(tmp_path) == []
