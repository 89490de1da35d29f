"""Files that are no document at all, or too much of one."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.structures.broken.fault import DEEP, Fault
from tests.structures.broken_ground import check, good_folder, problems_of


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return good_folder(tmp_path)


Written = Callable[[Path], object]
WHOLE_FILES: list[tuple[str, Written, str, str]] = [
    ("empty.toml", lambda p: p.write_bytes(b""), "is empty", "write the document"),
    ("bom.toml", lambda p: p.write_bytes(b"\xef\xbb\xbf \n"), "is empty", "write the document"),
    ("utf16.toml", lambda p: p.write_bytes("a = 1".encode("utf-16")), "UTF-16", "as UTF-8"),
    ("latin.toml", lambda p: p.write_bytes(b'a = 1\nb = "\xe9"'), "0xE9", "save it as UTF-8"),
    ("folder.toml", lambda p: p.mkdir(), "a folder", "inside"),
    ("zzz.toml", lambda _: None, "no such file", "check"),
    ("depo.toml", lambda _: None, "no such file", "did you mean depot.toml?"),
    ("nul\0.toml", lambda _: None, "bad file name", "check"),
    ("depot.yaml", lambda p: p.write_text("a: 1"), "'.yaml'", ".toml or .json"),
    ("depot", lambda p: p.write_text("a = 1"), "suffix ''", ".toml or .json"),
    ("binary.toml", lambda p: p.write_bytes(b"\x00\x01\x02" * 50), "not valid TOML", "correct"),
    ("brackets.toml", lambda p: p.write_text("a=" + "[" * DEEP), "nested", "flat"),
    ("brackets.json", lambda p: p.write_text("[" * DEEP), "nested", "flat"),
    ("objects.json", lambda p: p.write_text('{"a":' * DEEP), "nested", "flat"),
    ("empty.json", lambda p: p.write_text("{}"), "no schema_version", "schema_version = 1"),
    ("list.json", lambda p: p.write_text("[1]"), "[1], not an object", "length_unit"),
    ("null.json", lambda p: p.write_text("null"), "null", "length_unit"),
    ("text.json", lambda p: p.write_text('{"a" 1}'), "column 6", "double quotes"),
    ("comma.json", lambda p: p.write_text('{"a": 1,}'), "not valid JSON", "none after the last"),
    ("more.json", lambda p: p.write_text('{"a": 1} 2'), "not valid JSON", "double quotes"),
    ("twice.json", lambda p: p.write_text('{"a": 1,\n "a": 2}'), "given twice", "keep one"),
    ("digits.json", lambda p: p.write_text('{"a": ' + "1" * 5000 + "}"), "thousands", "2.5"),
    ("nan.json", lambda p: p.write_text('{"items": [{"mass_kg": NaN}]}'), "nan is not", "finite"),
    ("inf.json", lambda p: p.write_text('{"items": [{"mass_kg": 1e999}]}'), "inf is not", "finite"),
    ("null2.json", lambda p: p.write_text('{"name": null}'), "null is not a text", "quotes"),
    ("half.json", lambda p: p.write_text('{"name": "\\ud800"}'), "not valid text", "half"),
]


@pytest.mark.parametrize(
    ("name", "write", "message", "remedy"), WHOLE_FILES, ids=[repr(one[0]) for one in WHOLE_FILES]
)
def test_file_that_is_no_document(
    folder: Path, name: str, write: Written, message: str, remedy: str
) -> None:
    write(folder / name)
    problems = problems_of(folder / name)
    check(problems, Fault(name, "", "", "", message, remedy))


def test_file_of_200_mb_is_refused_before_it_is_parsed(folder: Path) -> None:
    path = folder / "huge.json"
    with path.open("wb") as stream:
        stream.truncate(200 * 1024 * 1024)
    (problem,) = problems_of(path)
    assert "209715200 bytes" in problem.message
    assert "32 MiB" in problem.remedy


def test_list_that_is_too_long_is_refused(folder: Path) -> None:
    path = folder / "long.json"
    path.write_text('{"handrails": [' + "0,   " * 300_000 + "0]}")
    (problem,) = problems_of(path)
    assert "handrails has 300001 entries" in problem.message


def test_thousands_of_problems_are_counted(folder: Path) -> None:
    path = folder / "many.json"
    path.write_text('{"handrails": [' + "0, " * 3000 + "0]}")
    problems = problems_of(path)
    assert len(problems) < 1100
    assert "more problems" in problems[-1].message
