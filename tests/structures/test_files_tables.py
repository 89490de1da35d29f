"""CSV tables: safe in a spreadsheet, the same text on reading, and lists of every element kind."""

import csv
import io
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from structures.elements import Handrail, Item, Solid, Zone
from structures.errors import InvalidDocumentError
from structures.files import read_document, read_structure
from structures.files.columns import columns_of
from structures.files.sources import Source
from structures.files.tables import parse_table, plain_text, safe_text, table_text
from structures.shapes import Box, Cylinder, Prism, Sphere
from tests.draws import draws

QUICK = settings(deadline=None, derandomize=True, max_examples=draws(200))
HEAD = 'schema_version = 1\nlength_unit = "{unit}"\nname = "T"\nrevision = "A"\n'
NAMES = [
    "=HYPERLINK(1)",
    "+1",
    "-1",
    "@sum",
    "'=quoted",
    "''two",
    "'tis",
    "a, b; c\td",
    'say "rail"',
    "<b>&amp;</b>",
    "two\nlines",
    "two\r\nlines",
    "\u202eright to left\u202c \u05d0",
    " spaces ",
    "\\n is no line",
    "\t=tab",
]
texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)


def table_of(text: str) -> tuple[tuple[str, ...], list[list[str]]]:
    table = parse_table(Source("t.csv", Path("t.csv"), text, ""))
    return table.header, table.rows


@QUICK
@given(texts | st.sampled_from(NAMES) | texts.map(lambda text: f"'{text}"))
def test_text_is_the_same_after_a_spreadsheet_cell(text: str) -> None:
    assert plain_text(safe_text(text)) == text
    assert safe_text(text)[:1] not in {"=", "+", "-", "@", "\t", "\r"}


@QUICK
@given(st.lists(st.tuples(texts | st.sampled_from(NAMES), st.floats(allow_nan=False)), max_size=4))
def test_table_reads_back_as_written(rows: list[tuple[str, float]]) -> None:
    written = table_text(["name", "gap_m"], rows)
    # Python's own reader, without any setting of ours, sees the same cells.
    header, *found = list(csv.reader(io.StringIO(written, newline="")))
    assert header == ["name", "gap_m"]
    assert [(plain_text(name), float(gap)) for name, gap in found] == rows


def test_numbers_stay_numbers_and_nothing_stays_nothing() -> None:
    assert table_text(["a", "b", "c", "d"], [[-2.5, -3, None, True]]) == (
        "a,b,c,d\r\n-2.5,-3,,true\r\n"
    )
    with pytest.raises(ValueError, match="2 cells in a table of 1 columns"):
        table_text(["a"], [["x", "y"]])


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("suffix", [".toml", ".json", ".csv"])
def test_name_survives(tmp_path: Path, name: str, suffix: str) -> None:
    from structures.files import write_structure

    rails = [["r-1", name, 0, 0, 0, 1, 0, 0, 0, 0, 1]]
    columns = "id name start_x start_y start_z end_x end_y end_z normal_x normal_y normal_z"
    (tmp_path / "rails.csv").write_bytes(table_text(columns.split(), rails).encode())
    path = tmp_path / "depot.toml"
    path.write_text(HEAD.format(unit="m") + 'handrails = "rails.csv"\n')
    structure = read_structure(path)
    if suffix != ".csv":
        write_structure(structure, tmp_path / f"again{suffix}")
        structure = read_structure(tmp_path / f"again{suffix}")
    assert structure.handrails[0].name == name


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("bom", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_marks_between_cells_and_line_ends(mark: str, bom: str, end: str) -> None:
    text = end.join(["id{0}name", 'a{0}"x{0} y"', "", "{0}", "b{0}", ""]).format(mark)
    header, rows = table_of(text)
    assert header == ("id", "name")
    assert rows == [["a", f"x{mark} y"], ["b", ""]]
    table = parse_table(Source("t.csv", Path("t.csv"), text, ""))
    assert table.lines == [2, 5]


def test_line_of_a_row_is_where_it_begins() -> None:
    text = 'id,notes\na,"one\ntwo\nthree"\nb,\n'
    assert parse_table(Source("t.csv", Path("t.csv"), text, "")).lines == [2, 5]


def read_lists(folder: Path, document: str, **tables: str) -> Any:
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    path = folder / "depot.toml"
    path.write_text(document, encoding="utf-8")
    return read_structure(path)


def test_length_unit_of_a_table(tmp_path: Path) -> None:
    """A list in inches beside a document in feet: 24 in = 0.6096 m, 1 ft = 0.3048 m (exact)."""
    structure = read_lists(
        tmp_path,
        HEAD.format(unit="ft")
        + 'handholds = { csv = "holds.csv", length_unit = "in" }\ntether_points = "stays.csv"\n',
        holds="id,position_x,position_y,position_z,normal_x,normal_y,normal_z\nh,24,0,-24,0,0,1\n",
        stays="id,position_x,position_y,position_z,staged\nt,1,0,-2,85; 55\n",
    )
    assert structure.handholds[0].position_m == pytest.approx((0.6096, 0.0, -0.6096), abs=1e-15)
    assert structure.tether_points[0].position_m == pytest.approx((0.3048, 0.0, -0.6096), abs=1e-15)
    assert structure.tether_points[0].staged_m == pytest.approx((25.908, 16.764), abs=1e-12)


def test_faults_of_a_table_in_its_own_unit_have_its_lines_and_unit(tmp_path: Path) -> None:
    with pytest.raises(InvalidDocumentError) as caught:
        read_lists(
            tmp_path,
            HEAD.format(unit="ft") + 'items = { csv = "items.csv", length_unit = "in" }\nx = 1\n',
            items="id,size_x,size_y,size_z,mass_kg\na,1,1,1,5\nb,1,-2,1,5\nb,1,1,1,0\n",
        )
    assert [(one.place, one.message) for one in caught.value.problems] == [
        ("depot.toml:6 x", "the key 'x' is not known"),
        ("items.csv:3 items[1].size[1]", "-2.0 in is out of range"),
        ("items.csv:4 items[2].mass_kg", "0.0 kg is out of range"),
        ("items.csv:4 items[2].id", "the id 'b' is taken already by items[1]"),
    ]


def test_shapes_in_a_table(tmp_path: Path) -> None:
    structure = read_lists(
        tmp_path,
        HEAD.format(unit="m") + 'solids = "solids.csv"\nzones = "zones.csv"\n'
        '[[conditions]]\nid = "c1"\n[[conditions]]\nid = "c2"\n',
        solids=(
            "id,volume.shape,volume.radius,volume.start_x,volume.start_y,volume.start_z,"
            "volume.end_x,volume.end_y,volume.end_z,volume.center_x,volume.center_y,"
            "volume.center_z,volume.size_x,volume.size_y,volume.size_z,volume.outline,"
            "volume.origin_x,volume.origin_y,volume.origin_z,volume.height\n"
            "can,cylinder,2,0,0,0,9,0,0,,,,,,,,,,,\n"
            "case,box,,,,,,,,1,2,3,4,5,6,,,,,\n"
            "wedge,prism,,,,,,,,,,,,,,0 0; 1 0; 0 1;,7,8,9,0.5\n"
        ),
        zones=(
            "id,volume.shape,volume.center_x,volume.center_y,volume.center_z,volume.radius,"
            "applies_to,when,kind,slow_factor\n"
            "z1,sphere,1,2,3,4,body; tether,c1;c2,slow-down,3\n"
        ),
    )
    assert [solid.volume for solid in structure.solids] == [
        Cylinder(start_m=(0, 0, 0), end_m=(9, 0, 0), radius_m=2),
        Box(center_m=(1, 2, 3), size_m=(4, 5, 6)),
        Prism(origin_m=(7, 8, 9), outline_m=((0, 0), (1, 0), (0, 1)), height_m=0.5),
    ]
    zone = structure.zones[0]
    assert zone.volume == Sphere(center_m=(1, 2, 3), radius_m=4)
    assert zone.applies_to == ("body", "tether")
    assert zone.when == ("c1", "c2")


def test_table_in_a_folder_below_and_digests(tmp_path: Path) -> None:
    import hashlib

    (tmp_path / "lists").mkdir()
    data = b"id\nc1\nc2\n"
    (tmp_path / "lists" / "conditions.csv").write_bytes(data)
    path = tmp_path / "depot.toml"
    path.write_text(HEAD.format(unit="m") + 'conditions = "lists/conditions.csv"\n')
    document = read_document(path)
    assert [one.id for one in document.structure.conditions] == ["c1", "c2"]
    assert [file.name for file in document.inputs] == ["depot.toml", "conditions.csv"]
    assert document.inputs[0].sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert document.inputs[1].sha256 == hashlib.sha256(data).hexdigest()


def test_folder_that_is_a_link_leads_out(tmp_path: Path) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "c.csv").write_text("id\nc1\n")
    (inner / "way").symlink_to(tmp_path / "out")
    path = inner / "depot.toml"
    path.write_text(HEAD.format(unit="m") + 'conditions = "way/c.csv"\n')
    with pytest.raises(InvalidDocumentError, match="leads out of the folder by a link"):
        read_structure(path)


def test_columns_of_elements() -> None:
    rails = [name for column in columns_of(Handrail) for name in column.names]
    assert rails == [
        *("id", "name", "notes", "source", "points"),
        *("normal_x", "normal_y", "normal_z", "standoff", "tether_hook"),
    ]
    sizes = [column.names for column in columns_of(Item) if column.path == ("size",)]
    assert sizes == [("size_x", "size_y", "size_z")]
    for record_type in (Solid, Zone):
        names = [name for column in columns_of(record_type) for name in column.names]
        assert len(names) == len(set(names))
        assert "volume.shape" in names


def test_table_with_only_a_header_is_an_empty_list(tmp_path: Path) -> None:
    structure = read_lists(
        tmp_path, HEAD.format(unit="m") + 'conditions = "c.csv"\n', c="id,name\n"
    )
    assert structure.conditions == ()


def test_too_many_columns(tmp_path: Path) -> None:
    with pytest.raises(InvalidDocumentError, match=r"c.csv:1 conditions: the header has 10001 col"):
        read_lists(
            tmp_path, HEAD.format(unit="m") + 'conditions = "c.csv"\n', c="id" + ",x" * 10_000
        )
