"""Studies on a dask cluster: the same rows, also when a worker is killed in the middle."""

import os
import signal
import threading
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from routing.graph.situation import Situation
from routing.studies.closures.answers import Asked, worksite_trips
from routing.studies.closures.closure import single_closures
from routing.studies.closures.sweep import closure_study
from routing.studies.running.run import Progress, run_study
from routing.studies.running.study import StudyError
from structures.files.reader import read_structure
from tests.cli.command_ground import EXAMPLES, run
from tests.routing.studies.running_work import calls, small_study

ROOT = Path(__file__).resolve().parents[3]

pytestmark = [
    # The tested library's own use of what Python or another library deprecates.
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]


@contextmanager
def two_workers() -> Iterator[Any]:
    from distributed import LocalCluster

    with (
        warnings.catch_warnings(),
        LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=":0", silence_logs=50
        ) as made,
    ):
        yield made


@pytest.fixture(scope="module", name="cluster")
def shared_cluster() -> Iterator[Any]:
    """One for all tests that leave it as it was."""
    with two_workers() as made:
        yield made


@pytest.fixture(name="spoilt")
def own_cluster() -> Iterator[Any]:
    """One for a test that kills its workers."""
    with two_workers() as made:
        yield made


def test_a_cluster_gives_the_same_bytes(cluster: Any, tmp_path: Path) -> None:
    study = small_study(tmp_path)
    alone = list(run_study(study, folder=tmp_path / "alone"))
    address = cluster.scheduler_address
    assert list(run_study(study, cluster=address, folder=tmp_path / "many")) == alone
    assert os.getpid() not in {pid for _, pid in calls(tmp_path)[12:]}
    names = [path.relative_to(tmp_path / "alone") for path in (tmp_path / "alone").rglob("*.jsonl")]
    assert len(names) == 12
    for name in names:
        assert (tmp_path / "alone" / name).read_bytes() == (tmp_path / "many" / name).read_bytes()


def test_closures_on_a_cluster_are_those_found_here(cluster: Any) -> None:
    structure = read_structure(ROOT / "examples" / "small" / "small.toml")
    asked = Asked(structure=structure, situation=Situation(), protocol="reel")
    closures = single_closures(structure, Situation())
    study = closure_study(asked, worksite_trips(structure), closures)
    rows = list(run_study(study))
    assert rows
    assert list(run_study(study, cluster=cluster.scheduler_address)) == rows


@pytest.mark.parametrize("command", ["pairs", "home", "people", "closures"])
def test_commands_write_the_same_bytes_on_a_cluster(
    cluster: Any, command: str, tmp_path: Path
) -> None:
    small = EXAMPLES["small"]
    here, there = tmp_path / "here.csv", tmp_path / "there.csv"
    alone = run(command, small, "--json", "--rows", str(here))
    many = run(
        command, small, "--json", "--rows", str(there), "--cluster", cluster.scheduler_address
    )
    assert alone.code == many.code
    assert alone.answer == many.answer
    assert here.read_bytes() == there.read_bytes()
    assert len(here.read_text().splitlines()) > 2


def test_a_killed_worker_loses_and_doubles_nothing(spoilt: Any, tmp_path: Path) -> None:
    study = small_study(tmp_path, pause_s=0.1)
    killed: list[int] = []

    def kill_one(progress: Progress) -> None:
        if progress.done == 3 and not killed:
            killed.append(calls(tmp_path)[-1][1])
            os.kill(killed[0], signal.SIGKILL)

    seen: list[Progress] = []

    def watch(progress: Progress) -> None:
        seen.append(progress)
        kill_one(progress)

    rows = list(run_study(study, cluster=spoilt.scheduler_address, progress=watch))
    assert [row[0] for row in rows] == list(range(60))
    assert [one.done for one in seen] == list(range(13))
    log = calls(tmp_path)
    assert killed[0] in {pid for _, pid in log}
    # Work went on elsewhere after the kill.
    assert {pid for _, pid in log[-3:]}.isdisjoint(killed)


def test_a_chunk_that_dies_by_its_own_hand_is_done_again(spoilt: Any, tmp_path: Path) -> None:
    study = small_study(tmp_path, at=10, trouble="die", once=True, pause_s=0.05)
    rows = list(run_study(study, cluster=spoilt.scheduler_address))
    assert [row[0] for row in rows] == list(range(60))
    assert len({pid for first, pid in calls(tmp_path) if first == 10}) == 2


def test_a_chunk_that_fails_is_tried_on_the_other_worker(cluster: Any, tmp_path: Path) -> None:
    study = small_study(tmp_path, at=10, trouble="fail", once=False)
    with pytest.raises(StudyError, match=r"chunk 2 .*failed twice.*trouble was asked for"):
        list(run_study(study, cluster=cluster.scheduler_address))
    assert len({pid for first, pid in calls(tmp_path) if first == 10}) == 2


def test_a_cluster_that_goes_away_is_told(spoilt: Any, tmp_path: Path) -> None:
    # Six seconds of work: however slowly the cluster closes, it is in the middle of it.
    study = small_study(tmp_path, pause_s=1.0)
    work = tmp_path / "work"

    def stop() -> None:
        while len(list(work.glob("*/*.jsonl"))) < 2:
            time.sleep(0.02)
        spoilt.close()

    thread = threading.Thread(target=stop)
    thread.start()
    with pytest.raises(StudyError, match="no longer answers"):
        list(run_study(study, cluster=spoilt.scheduler_address, folder=work))
    thread.join()
    quick = small_study(tmp_path)
    assert [row[0] for row in run_study(quick, folder=work)] == list(range(60))


def test_no_cluster_is_an_error_that_teaches(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("routing.studies.running.lanes._CONNECT_S", 0.5)
    with pytest.raises(StudyError, match=r"no cluster answers at 'tcp://127.0.0.1:1'"):
        list(run_study(small_study(tmp_path), cluster="tcp://127.0.0.1:1"))
