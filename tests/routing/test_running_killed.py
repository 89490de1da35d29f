"""A run that is killed goes on where it stopped, and leaves no process behind."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.routing.running_work import calls

ROOT = Path(__file__).resolve().parents[2]


def start(folder: Path, out: Path, workers: int) -> subprocess.Popen[str]:
    folder.mkdir(exist_ok=True)
    return subprocess.Popen(
        [sys.executable, "-m", "tests.routing.running_work", str(folder), str(out), str(workers)],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def finish(process: subprocess.Popen[str]) -> str:
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    return out


def wait_for_chunks(work: Path, count: int) -> None:
    deadline_s = time.monotonic() + 60
    while len(list(work.glob("*/chunk-*.jsonl"))) < count:
        assert time.monotonic() < deadline_s, "no chunk was finished"
        time.sleep(0.01)


def children(pid: int) -> set[int]:
    return {int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()}


def wait_for_the_end(pids: set[int]) -> None:
    deadline_s = time.monotonic() + 20
    while any(alive(pid) for pid in pids):
        assert time.monotonic() < deadline_s, "workers go on without anybody to work for"
        time.sleep(0.05)


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
        return Path(f"/proc/{pid}/stat").read_text().split(") ")[1][0] != "Z"
    except (ProcessLookupError, FileNotFoundError):
        return False


@pytest.mark.parametrize("workers", [1, 2])
def test_killed_in_the_middle_it_ends_with_the_same_bytes(tmp_path: Path, workers: int) -> None:
    whole = tmp_path / "whole.csv"
    assert finish(start(tmp_path / "one", whole, 1)) == "60\n"

    out, work = tmp_path / "rows.csv", tmp_path / "rows.csv.work"
    process = start(tmp_path / "two", out, workers)
    wait_for_chunks(work, 3)
    started = children(process.pid)
    os.kill(process.pid, signal.SIGKILL)
    process.communicate()
    # A worker may have begun another chunk; its call must not be counted to the second run.
    wait_for_the_end(started)
    kept = len(list(work.glob("*/chunk-*.jsonl")))
    assert 3 <= kept < 12
    assert not out.exists()
    # On the way, a part is damaged too.
    min(work.glob("*/chunk-*.jsonl")).write_bytes(b"{}\n[1]\n")

    before = len(calls(tmp_path / "two"))
    second = start(tmp_path / "two", out, workers)
    _, err = second.communicate(timeout=120)
    assert second.returncode == 0, err
    assert "1 finished parts were damaged and are done again" in err
    assert f"goes on after {kept - 1} of 12 parts" in err
    assert out.read_bytes() == whole.read_bytes()
    about = [path.with_name(path.name + ".about.json").read_text() for path in (out, whole)]
    assert about[0].replace("rows.csv", "whole.csv") == about[1]
    assert len(calls(tmp_path / "two")) - before == 12 - (kept - 1)
    assert not work.exists()


def closures(out: Path) -> subprocess.Popen[str]:
    program = "import sys; from routing.cli.main import main; sys.exit(main())"
    station = ROOT / "examples" / "station" / "station.toml"
    return subprocess.Popen(
        [sys.executable, "-c", program, "closures", str(station), "--rows", str(out), "--json"],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_closures_killed_in_the_middle_end_with_the_same_answer(tmp_path: Path) -> None:
    whole, out = tmp_path / "whole.csv", tmp_path / "rows.csv"
    expected, _ = closures(whole).communicate(timeout=300)
    process = closures(out)
    wait_for_chunks(tmp_path / "rows.csv.work", 5)
    os.kill(process.pid, signal.SIGKILL)
    process.communicate()
    assert not out.exists()
    found, err = closures(out).communicate(timeout=300)
    assert "goes on after" in err
    assert found == expected
    assert out.read_bytes() == whole.read_bytes()


def test_workers_leave_when_the_run_is_killed(tmp_path: Path) -> None:
    process = start(tmp_path / "one", tmp_path / "rows.csv", 2)
    wait_for_chunks(tmp_path / "rows.csv.work", 2)
    workers = {pid for _, pid in calls(tmp_path / "one")}
    assert workers
    assert process.pid not in workers
    os.kill(process.pid, signal.SIGKILL)
    process.communicate()
    wait_for_the_end(workers)
