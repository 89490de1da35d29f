"""Studies in process and on worker processes: the same rows, resumed, repaired, retried."""

import json
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest

from routing.studies.running.run import Progress, forget_study, run_study
from routing.studies.running.store import ChunkStore
from routing.studies.running.study import Column, Study, StudyError, row_of, study_digest
from routing.studies.running.tasks import pack, run_chunk
from tests.routing.studies.running_work import COLUMNS, calls, lone_rows, small_study


def chunk_files(folder: Path) -> list[Path]:
    return sorted(folder.glob("*/chunk-*.jsonl"))


def test_rows_come_in_the_order_of_the_chunks(tmp_path: Path) -> None:
    rows = list(run_study(small_study(tmp_path)))
    assert [row[0] for row in rows] == list(range(60))
    assert rows[0] == (0, None, None, None, None)
    assert rows[3] == (3, "=n3", ("a3", "b"), 3**0.5, True)


def test_processes_give_the_same_bytes(tmp_path: Path) -> None:
    study = small_study(tmp_path)
    alone, many = tmp_path / "alone", tmp_path / "many"
    first = list(run_study(study, folder=alone))
    assert list(run_study(study, workers=2, folder=many)) == first
    # On a busy machine one worker may have done it all; none of it was done here.
    pids = [pid for _, pid in calls(tmp_path)]
    assert set(pids[:12]) == {os.getpid()}
    assert os.getpid() not in pids[12:]
    names = [path.relative_to(alone) for path in chunk_files(alone)]
    assert len(names) == 12
    assert [(alone / n).read_bytes() for n in names] == [(many / n).read_bytes() for n in names]


def test_threads_of_a_worker_do_one_chunk_at_a_time(tmp_path: Path) -> None:
    study = replace(small_study(tmp_path), work=lone_rows)
    payload = pack(study, study_digest(study))
    with ThreadPoolExecutor(4) as threads:
        done = [*threads.map(run_chunk, [payload] * 12, range(12), study.chunks)]
    assert [outcome.fault for outcome in done] == [None] * 12


def test_what_is_finished_is_not_done_again(tmp_path: Path) -> None:
    study, work = small_study(tmp_path), tmp_path / "work"
    before = list(run_study(study, folder=work))
    files = chunk_files(work)
    for path in files[4:]:
        path.unlink()
    seen: list[Progress] = []
    assert list(run_study(study, folder=work, progress=seen.append)) == before
    assert sorted(first for first, _ in calls(tmp_path)) == sorted(
        [*range(0, 60, 5), *range(20, 60, 5)]
    )
    assert (seen[0].done, seen[0].resumed, seen[0].total, seen[0].left_s) == (4, 4, 12, None)
    assert (seen[-1].done, seen[-1].left_s) == (12, 0.0)


def test_what_the_start_takes_is_not_counted_with_every_chunk() -> None:
    def after(done: int, elapsed_s: float) -> Progress:
        return Progress(
            done=done, total=12, resumed=2, damaged=0, elapsed_s=elapsed_s, first_s=10.0
        )

    first, third = after(3, 10.0), after(5, 14.0)
    assert (first.left_s, first.left_is_most) == (90.0, True)
    assert (third.left_s, third.left_is_most) == (14.0, False)
    assert after(12, 30.0).left_s == 0.0


def flip(data: bytes) -> bytes:
    return data[:-10] + bytes([data[-10] ^ 1]) + data[-9:]


DAMAGES = {
    "one bit": flip,
    "cut short": lambda data: data[:-1],
    "empty": lambda _: b"",
    "a line too many": lambda data: data + data.splitlines()[-1] + b"\n",
    "no head": lambda data: data.partition(b"\n")[2],
    "brackets without end": lambda _: b"[" * 100_000 + b"\n",
    "a number": lambda _: b"1\n",
    "no text": lambda _: b"\xff\xfe\n",
}


@pytest.mark.parametrize("damage", sorted(DAMAGES))
def test_a_damaged_chunk_is_done_again(tmp_path: Path, damage: str) -> None:
    study, work = small_study(tmp_path), tmp_path / "work"
    before = list(run_study(study, folder=work))
    harmed = chunk_files(work)[3]
    whole = harmed.read_bytes()
    harmed.write_bytes(DAMAGES[damage](whole))
    seen: list[Progress] = []
    assert list(run_study(study, folder=work, progress=seen.append)) == before
    assert harmed.read_bytes() == whole
    assert seen[-1].damaged == 1
    assert [first for first, _ in calls(tmp_path)][12:] == [15]


def test_a_chunk_of_another_place_is_damaged(tmp_path: Path) -> None:
    study, work = small_study(tmp_path), tmp_path / "work"
    before = list(run_study(study, folder=work))
    third, fourth = chunk_files(work)[3:5]
    third.write_bytes(fourth.read_bytes())
    assert list(run_study(study, folder=work)) == before


def test_a_chunk_that_is_damaged_while_rows_are_read_is_done_again(tmp_path: Path) -> None:
    study, work = small_study(tmp_path), tmp_path / "work"
    before = list(run_study(study))
    rows = run_study(study, folder=work)
    found = [next(rows)]
    chunk_files(work)[-1].write_bytes(b"gone")
    assert [*found, *rows] == before


@pytest.mark.parametrize("change", ["content", "parameters", "chunks", "columns", "inputs", "name"])
def test_another_study_has_another_digest(tmp_path: Path, change: str) -> None:
    study = small_study(tmp_path)
    other: dict[str, Study] = {
        "content": replace(study, content={"what": "else"}),
        "parameters": replace(study, parameters={"rows": 61}),
        "chunks": replace(study, chunks=[*study.chunks[:-1], [55, 56]]),
        "columns": replace(study, columns=COLUMNS[:-1]),
        "inputs": replace(study, inputs=()),
        "name": replace(study, name="other"),
    }
    assert study_digest(other[change]) != study_digest(study)
    assert study_digest(small_study(tmp_path / "elsewhere")) == study_digest(study)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_chunk_that_fails_once_is_tried_elsewhere(tmp_path: Path, workers: int) -> None:
    study = small_study(tmp_path, at=10, trouble="fail", once=True)
    assert [row[0] for row in run_study(study, workers=workers)] == list(range(60))
    pids = [pid for first, pid in calls(tmp_path) if first == 10]
    assert len(pids) == 2
    assert len(set(pids)) == workers


@pytest.mark.parametrize("workers", [1, 2])
def test_a_chunk_that_fails_twice_is_told_and_the_rest_is_kept(
    tmp_path: Path, workers: int
) -> None:
    study = small_study(tmp_path, at=25, trouble="fail", once=False)
    work = tmp_path / "work"
    with pytest.raises(StudyError, match=r"chunk 5 .*failed twice.*trouble was asked for.*25, 26"):
        list(run_study(study, workers=workers, folder=work))
    assert len(chunk_files(work)) >= 5
    kept = [row[0] for row in run_study(small_study(tmp_path), folder=work)]
    assert kept == list(range(60))


def test_a_worker_that_dies_loses_and_doubles_nothing(tmp_path: Path) -> None:
    study = small_study(tmp_path, at=10, trouble="die", once=True, pause_s=0.02)
    seen: list[Progress] = []
    rows = list(run_study(study, workers=2, progress=seen.append))
    assert [row[0] for row in rows] == list(range(60))
    assert [one.done for one in seen] == list(range(13))
    killed = int((tmp_path / "was-here").read_text())
    assert killed in {pid for _, pid in calls(tmp_path)}


def test_a_chunk_that_kills_two_workers_is_named(tmp_path: Path) -> None:
    study = small_study(tmp_path, at=10, trouble="die", once=False)
    with pytest.raises(StudyError, match=r"chunk 2 .*killed its worker process twice.*--workers 1"):
        list(run_study(study, workers=2, folder=tmp_path / "work"))


def test_forgetting_deletes_what_is_ours_only(tmp_path: Path) -> None:
    study, work = small_study(tmp_path), tmp_path / "work"
    list(run_study(study, folder=work))
    (work / "mine.txt").write_text("keep")
    forget_study(study, work)
    assert [path.name for path in work.iterdir()] == ["mine.txt"]


def test_forgetting_deletes_what_a_killed_run_left_half_written(tmp_path: Path) -> None:
    study, work = small_study(tmp_path), tmp_path / "work"
    list(run_study(study, folder=work))
    (chunk_files(work)[0].parent / ".gripway-1-0.part").write_text("{")
    forget_study(study, work)
    assert not work.exists()


@pytest.mark.parametrize("done", [0, 5, 11, 12])
def test_another_run_that_ends_first_takes_nothing_away(tmp_path: Path, done: int) -> None:
    """Two runs with one file of rows share its folder; the first to end deletes the folder."""
    study, work = small_study(tmp_path), tmp_path / "rows.csv.work"

    def watch(progress: Progress) -> None:
        if progress.done == done:
            forget_study(study, work)

    rows = [row[0] for row in run_study(study, folder=work, progress=watch)]
    assert rows == list(range(60))
    forget_study(study, work)
    assert not work.exists()
    forget_study(study, work)


def test_rows_are_read_on_when_another_run_deletes_them(tmp_path: Path) -> None:
    study, work = small_study(tmp_path), tmp_path / "work"
    before = list(run_study(study))
    rows = run_study(study, folder=work)
    found = [next(rows) for _ in range(7)]
    forget_study(study, work)
    assert [*found, *rows] == before


def test_a_folder_that_must_not_be_written_is_an_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OSError, match="file"):
        list(run_study(small_study(tmp_path), folder=tmp_path / "file"))


def test_a_chunk_is_a_list_of_json_lines_after_its_head(tmp_path: Path) -> None:
    store = ChunkStore(tmp_path, "ab" * 32, (Column("x", "number", ""),))
    assert store.state(0) == "missing"
    store.put(0, "[1.5]\n[2.0]\n")
    head, *body = store.path(0).read_text().splitlines()
    assert json.loads(head)["rows"] == 2
    assert [json.loads(line) for line in body] == [[1.5], [2.0]]


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        ("number", float("nan")),
        ("number", float("inf")),
        ("count", 1.5),
        ("text", 3),
        ("texts", "ab"),
        ("flag", "yes"),
    ],
)
def test_values_that_do_not_fit_their_column_are_refused(kind: str, value: object) -> None:
    with pytest.raises((TypeError, ValueError)):
        row_of((Column("c", kind, ""),), (value,))
