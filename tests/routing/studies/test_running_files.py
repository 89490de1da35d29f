"""Rows as files: what is in them, what stands beside them, whole or not at all."""

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from pyarrow import parquet

from routing.caution import CAUTION
from routing.studies.running.row_files import about_path, check_row_file, write_rows
from routing.studies.running.run import run_study
from routing.studies.running.study import Row, StudyError, study_digest
from structures.files.sources import read_source
from structures.files.tables import parse_table
from tests.routing.studies.running_work import small_study


@pytest.mark.parametrize("suffix", [".csv", ".jsonl", ".parquet"])
def test_each_file_has_its_digests_beside_it(tmp_path: Path, suffix: str) -> None:
    study, path = small_study(tmp_path), tmp_path / f"rows{suffix}"
    assert write_rows(path, study, run_study(study)) == 60
    about = json.loads(about_path(path).read_text())
    assert about["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()
    assert about["study_sha256"] == study_digest(study)
    assert about["inputs"] == [{"name": "none.toml", "sha256": "0" * 64}]
    assert about["rows"] == 60
    assert about["caution"] == CAUTION
    assert [column["name"] for column in about["columns"]] == [
        "study", "number", "name", "parts", "root_m", "odd",
    ]  # fmt: skip


@pytest.mark.parametrize("suffix", [".csv", ".jsonl", ".parquet"])
def test_the_same_rows_give_the_same_bytes(tmp_path: Path, suffix: str) -> None:
    study = small_study(tmp_path)
    paths = [tmp_path / f"{name}{suffix}" for name in "ab"]
    for path, workers in zip(paths, (1, 2), strict=True):
        write_rows(path, study, run_study(study, workers=workers))
    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_csv_is_no_formula_and_reads_back(tmp_path: Path) -> None:
    study, path = small_study(tmp_path), tmp_path / "rows.csv"
    write_rows(path, study, run_study(study))
    table = parse_table(read_source(path))
    key = study_digest(study)[:16]
    assert table.header == ("study", "number", "name", "parts", "root_m", "odd")
    assert table.rows[3] == [key, "3", "'=n3", "a3 b", repr(3**0.5), "true"]
    assert table.rows[0] == [key, "0", "", "", "", ""]


def test_json_lines_leave_out_what_is_missing(tmp_path: Path) -> None:
    study, path = small_study(tmp_path), tmp_path / "rows.jsonl"
    write_rows(path, study, run_study(study))
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    key = study_digest(study)[:16]
    assert lines[0] == {"study": key, "number": 0}
    assert lines[3]["parts"] == ["a3", "b"]


def test_parquet_holds_the_same_rows(tmp_path: Path) -> None:
    study, path = small_study(tmp_path), tmp_path / "rows.parquet"
    rows = list(run_study(study))
    write_rows(path, study, rows)
    table = parquet.read_table(path)
    assert json.loads(table.schema.metadata[b"gripway"])["study"] == "small"
    found = [tuple(row.values())[1:] for row in table.to_pylist()]
    assert found == [tuple(list(v) if isinstance(v, tuple) else v for v in row) for row in rows]


def test_no_file_is_left_where_rows_end_in_an_error(tmp_path: Path) -> None:
    study, path = small_study(tmp_path), tmp_path / "rows.csv"
    path.write_text("before")

    def broken() -> Iterator[Row]:
        yield from list(run_study(study))[:20]
        raise StudyError("the cluster has gone")

    with pytest.raises(StudyError, match="gone"):
        write_rows(path, study, broken())
    assert path.read_text() == "before"
    assert not about_path(path).exists()
    assert sorted(one.name for one in tmp_path.iterdir()) == ["calls.log", "rows.csv"]


def test_nothing_lies_beside_the_file_while_rows_are_worked_out(tmp_path: Path) -> None:
    """A run that is killed would leave it there for good."""
    study, out = small_study(tmp_path), tmp_path / "out"
    out.mkdir()
    seen: list[list[str]] = []

    def rows() -> Iterator[Row]:
        seen.append([path.name for path in out.iterdir()])
        yield from run_study(study)

    write_rows(out / "rows.csv", study, rows())
    assert seen == [[]]


@pytest.mark.parametrize("suffix", [".csv", ".jsonl", ".parquet"])
def test_no_rows_are_a_file_too(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"rows{suffix}"
    assert write_rows(path, small_study(tmp_path), iter(())) == 0
    if suffix == ".parquet":
        assert parquet.read_table(path).num_rows == 0
    else:
        assert path.read_text() == ("study,number,name,parts,root_m,odd\n" * (suffix == ".csv"))
    assert json.loads(about_path(path).read_text())["rows"] == 0


def test_an_unknown_suffix_is_refused() -> None:
    with pytest.raises(StudyError, match=r"\.csv, \.jsonl, \.parquet"):
        check_row_file(Path("rows.xls"))
