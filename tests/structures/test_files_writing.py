"""Writing is whole or not at all; records and schemas beyond structures."""

import errno
import os
import stat
from pathlib import Path

import jsonschema
import pytest

from routing.limits import Limits
from structures.elements import Condition
from structures.errors import InvalidDocumentError
from structures.fields import Length, Record, Text
from structures.files import (
    json_schema,
    read_record,
    read_record_document,
    read_structure,
    write_file,
    write_record,
    write_structure,
    write_table,
)
from structures.model import Structure
from structures.shapes import Box

DEPOT = Structure(name="Depot", revision="A", conditions=(Condition(id="dark"),))


def test_failing_write_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "depot.toml"
    path.write_text("old")

    def fail(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(OSError, match="No space"):
        write_structure(DEPOT, path)
    assert path.read_text() == "old"
    assert [one.name for one in tmp_path.iterdir()] == ["depot.toml"]


def test_write_into_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match=r"none/depot.toml"):
        write_structure(DEPOT, tmp_path / "none" / "depot.toml")


def test_write_over_a_folder_fails_and_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "depot.toml").mkdir()
    with pytest.raises(OSError, match="directory"):
        write_structure(DEPOT, tmp_path / "depot.toml")
    assert [one.name for one in tmp_path.iterdir()] == ["depot.toml"]


def test_a_full_disk_is_told_with_the_file_that_was_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Writing to an open file fails without any name; the file beside it is nobody's."""
    path = tmp_path / "rows.csv"

    def full(_descriptor: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left") as caught:
        write_file(path, b"1")
    assert caught.value.filename == str(path)
    assert list(tmp_path.iterdir()) == []

    def gone(_descriptor: int) -> None:
        raise ConnectionResetError(errno.ECONNRESET, os.strerror(errno.ECONNRESET))

    monkeypatch.setattr(os, "fsync", gone)
    with pytest.raises(ConnectionResetError) as other:
        write_file(path, b"1")
    assert other.value.filename is None


def test_rights_and_links_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "depot.json"
    path.write_text("old")
    path.chmod(0o640)
    link = tmp_path / "link.json"
    link.symlink_to(path)
    write_structure(DEPOT, link)
    assert link.is_symlink()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert read_structure(path) == DEPOT


def test_new_file_has_the_usual_rights(tmp_path: Path) -> None:
    usual = tmp_path / "usual"
    usual.touch()
    write_file(tmp_path / "new.csv", b"a\r\n")
    assert (tmp_path / "new.csv").stat().st_mode == usual.stat().st_mode


def test_table_is_written_like_any_file(tmp_path: Path) -> None:
    write_table(tmp_path / "t.csv", ["name", "gap_m"], [["=1", 0.1], ["\u05d0", None]])
    assert (tmp_path / "t.csv").read_bytes() == "name,gap_m\r\n'=1,0.1\r\n\u05d0,\r\n".encode()


# SSP 30219 Rev F (2001-10-26), Fig 4.0-4: (x, y, z) -> (-35.339 - x, -0.006 - z, 4.142 - y) [m].
@pytest.mark.parametrize(
    ("unit", "factor"), [("m", 1.0), ("ft", 0.3048), ("in", 0.0254)], ids=["m", "ft", "in"]
)
def test_document_in_another_frame_and_unit(tmp_path: Path, unit: str, factor: float) -> None:
    x, y, z = (value / factor for value in (10.0, 2.0, -3.0))
    offset = [value / factor for value in (-35.339, -0.006, 4.142)]
    path = tmp_path / "depot.toml"
    path.write_text(
        f'schema_version = 1\nlength_unit = "{unit}"\nname = "T"\nrevision = "A"\n'
        f'frame = {{ x = "-x", y = "-z", z = "-y", offset = {offset} }}\n'
        f'handholds = "h.csv"\n[[solids]]\nid = "s"\n'
        f'volume = {{ shape = "box", center = [{x}, {y}, {z}], size = [{x}, {y}, {x}] }}\n'
    )
    (tmp_path / "h.csv").write_text(
        f"id,position_x,position_y,position_z,normal_x,normal_y,normal_z\nh,{x},{y},{z},0,1,0\n"
    )
    structure = read_structure(path)
    hold = structure.handholds[0]
    assert hold.position_m == pytest.approx((-45.339, 2.994, 2.142), abs=1e-12)
    assert hold.normal == (0, 0, -1), "the document's y is against station Z"
    box = structure.solids[0].volume
    assert isinstance(box, Box)
    assert box.center_m == pytest.approx((-45.339, 2.994, 2.142), abs=1e-12)
    assert box.size_m == pytest.approx((10, 2, 10), abs=1e-12)
    assert (box.x_axis, box.y_axis) == ((-1, 0, 0), (0, 0, -1))


def test_what_could_not_be_read_is_not_written(tmp_path: Path) -> None:
    twice = Structure(name="", revision="", conditions=(Condition(id="a"), Condition(id="a")))
    with pytest.raises(InvalidDocumentError, match="'a' is taken already"):
        write_structure(twice, tmp_path / "depot.toml")
    with pytest.raises(InvalidDocumentError, match="suffix"):
        write_structure(DEPOT, tmp_path / "depot.txt")
    assert list(tmp_path.iterdir()) == []


def test_limits_from_a_document_in_feet(tmp_path: Path) -> None:
    path = tmp_path / "limits.toml"
    path.write_text('schema_version = 1\nlength_unit = "ft"\nreel_length = 55\nmax_turn_deg = 90\n')
    limits = read_record(path, Limits)
    assert limits.reel_length_m == pytest.approx(16.764, abs=1e-12)
    assert limits.max_turn_deg == 90
    assert limits.reserve_m == Limits().reserve_m, "defaults are metres whatever the document"
    write_record(limits, path)
    assert read_record(path, Limits) == limits
    jsonschema.Draft202012Validator.check_schema(json_schema(Limits))


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("reel_lenght = 55", "limits.toml:3 reel_lenght: the key 'reel_lenght' is not known; did"),
        ("reel_length_m = 55", "write reel_length; lengths are in the document's length unit"),
        (
            "chain_rating_lbf = 50",
            "did you mean chain_rating_n? it is in newtons: 1 lbf = 4.448221",
        ),
        ("rate = 0", "limits.toml:3 rate: 0 ft/s is out of range; give a number above 0 ft/s"),
        ("max_turn_deg = 181", "181 deg is out of range; give a number of at most 180 deg"),
        ("turn_s_per_rad = -1", "-1 s/rad is out of range; give a number of at least 0 s/rad"),
        ("max_chain = 7", "limits.toml:3 max_chain: 7 is out of range; give a number of at most 6"),
        ("max_chain = 1.5", "1.5 is not a whole number"),
        ("max_chain = 3.0", "3.0 is not a whole number"),
        ('max_chain = "3"', "'3' is not a whole number"),
        ("max_chain = true", "true is not a whole number"),
        ("reach = 40000", "12192 m is beyond 10000 m"),
    ],
)
def test_record_problems(tmp_path: Path, line: str, problem: str) -> None:
    path = tmp_path / "limits.toml"
    path.write_text(f'schema_version = 1\nlength_unit = "ft"\n{line}\n')
    with pytest.raises(InvalidDocumentError) as caught:
        read_record(path, Limits)
    assert problem in str(caught.value)
    assert len(caught.value.problems) == 1


class Line(Record):
    """One line of a kit."""

    id: Text
    length_m: Length


class Kit(Record):
    """A record with a list of its own."""

    lines: tuple[Line, ...]


def test_lists_of_any_record_may_be_in_a_table(tmp_path: Path) -> None:
    (tmp_path / "lines.csv").write_text("id,length\na,85\nb,55\n")
    path = tmp_path / "kit.toml"
    path.write_text('schema_version = 3\nlength_unit = "ft"\nlines = "lines.csv"\n')
    document = read_record_document(path, Kit, version=3)
    assert [line.length_m for line in document.record.lines] == pytest.approx([25.908, 16.764])
    assert [file.name for file in document.inputs] == ["kit.toml", "lines.csv"]
    with pytest.raises(InvalidDocumentError, match="reads the whole number 1"):
        read_record(path, Kit)


def test_schema_is_closed_and_has_all_forms_of_a_list() -> None:
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    good = {"schema_version": 1, "length_unit": "in", "name": "", "revision": ""}
    frame = {"x": "-x", "y": "-z", "z": "-y", "offset": [1, 2, 3]}
    for also in (
        {},
        {"frame": frame},
        {"handrails": "rails.csv"},
        {"handrails": {"csv": "rails.csv", "length_unit": "ft"}},
        {"handrails": []},
    ):
        validator.validate(good | also)
    for wrong in (
        {"schema_version": 2},
        {"length_unit": "cm"},
        {"handrail": []},
        {"handrails": "rails.txt"},
        {"handrails": "/rails.csv"},
        {"handrails": {"csv": "rails.csv", "unit": "ft"}},
        {"handrails": [{"id": "a", "standoff_m": 1}]},
        {"handrails": {"length_unit": "ft"}},
        {"frame": {"x": "x"}},
        {"conditions": [{"id": "a b"}]},
    ):
        assert not validator.is_valid(good | wrong), wrong
    for missing in good:
        assert not validator.is_valid({k: v for k, v in good.items() if k != missing})
