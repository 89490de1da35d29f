"""A run that is killed goes on where it stopped, and leaves no process behind."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.routing.studies.running_work import GO, calls

ROOT = Path(__file__).resolve().parents[3]

LONG_S = 600
"""Longer than anything here takes on the slowest machine [s]."""


def start(folder: Path, out: Path, workers: int) -> subprocess.Popen[str]:
    folder.mkdir(exist_ok=True)
    return subprocess.Popen(
        [
            sys.executable,
            "-m",
            "tests.routing.studies.running_work",
            str(folder),
            str(out),
            str(workers),
        ],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def finish(process: subprocess.Popen[str]) -> str:
    out, err = process.communicate(timeout=LONG_S)
    assert process.returncode == 0, err
    return out


def wait_for_chunks(work: Path, count: int) -> None:
    deadline_s = time.monotonic() + LONG_S
    while len(list(work.glob("*/chunk-*.jsonl"))) < count:
        assert time.monotonic() < deadline_s, "no chunk was finished"
        time.sleep(0.01)


def children(pid: int) -> set[int]:
    return {int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()}


def wait_for_the_end(pids: set[int]) -> None:
    deadline_s = time.monotonic() + LONG_S
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
    (tmp_path / "one").mkdir()
    (tmp_path / "one" / GO).touch()
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
    assert 3 <= kept <= 5  # the sixth part waits for what only the second run gets
    assert not out.exists()
    # On the way, a part is damaged too.
    min(work.glob("*/chunk-*.jsonl")).write_bytes(b"{}\n[1]\n")

    before = len(calls(tmp_path / "two"))
    (tmp_path / "two" / GO).touch()
    second = start(tmp_path / "two", out, workers)
    _, err = second.communicate(timeout=LONG_S)
    assert second.returncode == 0, err
    assert "1 finished parts were damaged and are done again" in err
    assert f"goes on after {kept - 1} of 12 parts" in err
    assert out.read_bytes() == whole.read_bytes()
    about = [path.with_name(path.name + ".about.json").read_text() for path in (out, whole)]
    assert about[0].replace("rows.csv", "whole.csv") == about[1]
    assert len(calls(tmp_path / "two")) - before == 12 - (kept - 1)
    assert not work.exists()


CLOSURES = """
import os, signal, sys
from routing.cli.main import main
from routing.studies.running.store import ChunkStore

put = ChunkStore.put
def put_and_die(self, number, text):
    put(self, number, text)
    if number == 4:
        os.kill(os.getpid(), signal.SIGKILL)
if sys.argv.pop(1) == "killed":
    ChunkStore.put = put_and_die
sys.exit(main())
"""
"""The command; killed: no time lies between the fifth part and the kill."""


def closures(out: Path, how: str = "whole") -> subprocess.CompletedProcess[str]:
    small = ROOT / "examples" / "small" / "small.toml"
    # 28 parts.
    asked = ("closures", small, "--together-near", "H01", "--within", "9", "--rows", out, "--json")
    return subprocess.run(
        [sys.executable, "-c", CLOSURES, how, *asked],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
        timeout=LONG_S,
    )


def test_closures_killed_in_the_middle_end_with_the_same_answer(tmp_path: Path) -> None:
    whole, out = tmp_path / "whole.csv", tmp_path / "rows.csv"
    expected = closures(whole)
    assert len(whole.read_text().splitlines()) > 500
    killed = closures(out, "killed")
    assert (killed.returncode, killed.stdout) == (-signal.SIGKILL, "")
    assert len(list((tmp_path / "rows.csv.work").glob("*/chunk-*.jsonl"))) == 5
    assert not out.exists()
    found = closures(out)
    assert "goes on after 5 of 28 parts" in found.stderr
    assert (found.returncode, found.stdout) == (expected.returncode, expected.stdout)
    assert expected.returncode in {0, 1}
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
