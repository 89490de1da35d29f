"""Run a study: chunks in any order on any worker, rows in the study's own order."""

import time
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from routing.studies.running.lanes import Lane, open_lane
from routing.studies.running.store import ChunkStore
from routing.studies.running.study import Row, Study, StudyError, program_digest, study_digest
from routing.studies.running.tasks import Outcome, pack, run_chunk

__all__ = ["Progress", "Watch", "forget_study", "run_study"]

_KEPT = "what is finished is kept in the work folder, if one was given"
_MOST_IDLE_DEATHS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a study is."""

    done: int
    """Chunks that are finished, those of an earlier run included."""
    total: int
    resumed: int
    """Chunks that an earlier run had finished."""
    damaged: int
    """Chunks of an earlier run that were damaged and are done again."""
    elapsed_s: float
    first_s: float | None = None
    """When the first chunk of this run was finished: until then workers started, too."""

    @property
    def left_s(self) -> float | None:
        """Time that is left if the other chunks take as long as those of this run did [s].

        After the first chunk it is too long by what the start takes, that many times over.
        """
        fresh, rest = self.done - self.resumed, self.total - self.done
        if fresh <= 0:
            return None
        if fresh == 1 or self.first_s is None:
            return self.elapsed_s / fresh * rest
        return (self.elapsed_s - self.first_s) / (fresh - 1) * rest

    @property
    def left_is_most(self) -> bool:
        """Whether `left_s` still counts the start with every chunk."""
        return self.done - self.resumed == 1


Watch = Callable[[Progress], None]


def run_study(
    study: Study,
    *,
    workers: int = 1,
    cluster: str | None = None,
    folder: Path | None = None,
    progress: Watch | None = None,
) -> Iterator[Row]:
    """Run a study and return its rows, in the order of its chunks, one chunk in memory at a time.

    The rows are the same, to the last bit, wherever the chunks run.

    Parameters
    ----------
    study
        What is worked out.
    workers
        Processes; 1 is this very process.
    cluster
        Address of a dask scheduler; used in place of processes.
    folder
        Work folder in which finished chunks are kept, each written whole or not
        at all. A run of the same study that was stopped, in whatever way, goes on
        from there; damaged chunks are done again. By default a temporary folder,
        deleted at the end.
    progress
        Called after every chunk.

    Yields
    ------
    tuple
        One value a column.

    Raises
    ------
    StudyError
        A chunk failed twice, on two workers where there are two, or the cluster
        cannot be used. Raised before the first row; what is finished is kept.
    OSError
        The work folder cannot be written.
    """
    with _store(study, folder) as store:
        _finish(study, store, _Where(workers, cluster), progress)
        for number in range(len(study.chunks)):
            yield from _rows(study, store, number)


def forget_study(study: Study, folder: Path) -> None:
    """Delete the finished chunks of a study from its work folder, and the folder once empty."""
    ChunkStore(folder, study_digest(study), study.columns).remove()


@contextmanager
def _store(study: Study, folder: Path | None) -> Iterator[ChunkStore]:
    digest = study_digest(study)
    if folder is not None:
        yield ChunkStore(folder, digest, study.columns)
        return
    with TemporaryDirectory(prefix="gripway-") as temporary:
        yield ChunkStore(Path(temporary), digest, study.columns)


def _rows(study: Study, store: ChunkStore, number: int) -> Iterator[Row]:
    """Return the rows of a finished chunk; one damaged since then is done again here."""
    rows = store.rows(number)
    if rows is None:
        outcome = run_chunk(pack(study, store.digest), number, study.chunks[number])
        if outcome.text is None:
            raise _twice(study, outcome)
        store.put(number, outcome.text)
        rows = store.rows(number)
    if rows is None:
        raise StudyError(
            f"chunk {number} in {store.folder} is damaged as soon as it is written; "
            "check the disk, or name another work folder"
        )
    return rows


@dataclass(frozen=True, slots=True)
class _Where:
    workers: int
    cluster: str | None


def _finish(study: Study, store: ChunkStore, where: _Where, watch: Watch | None) -> None:
    """Work out all chunks that are not in the store."""
    states = [store.state(number) for number in range(len(study.chunks))]
    todo = [number for number, state in enumerate(states) if state != "whole"]
    run = _Run(
        study=study,
        store=store,
        waiting=deque(todo),
        resumed=len(states) - len(todo),
        damaged=states.count("damaged"),
        watch=watch,
    )
    run.report()
    if not todo:
        return
    lane = open_lane(
        pack(study, store.digest),
        workers=min(where.workers, len(todo)),
        cluster=where.cluster,
    )
    try:
        run.drive(lane)
    except BaseException:
        lane.close(at_once=True)
        raise
    lane.close(at_once=False)


@dataclass(slots=True, kw_only=True)
class _Run:
    """A study under way."""

    study: Study
    store: ChunkStore
    waiting: deque[int]
    resumed: int
    damaged: int
    watch: Watch | None
    done: int = 0
    started_s: float = field(default_factory=time.monotonic)
    first_s: float | None = None
    """When the first chunk was finished."""
    retries: deque[Outcome] = field(default_factory=deque)
    """Chunks that failed, to be tried elsewhere."""
    failed: set[int] = field(default_factory=set)
    suspects: deque[int] = field(default_factory=deque)
    """Chunks that were under way when a worker died: each is tried once more, alone."""
    idle_deaths: int = 0
    """Workers that died one after the other with nothing under way."""
    under_way: "dict[Future[Outcome], int]" = field(default_factory=dict)

    def report(self) -> None:
        elapsed_s = time.monotonic() - self.started_s
        if self.done and self.first_s is None:
            self.first_s = elapsed_s
        if self.watch is not None:
            self.watch(
                Progress(
                    done=self.resumed + self.done,
                    total=len(self.study.chunks),
                    resumed=self.resumed,
                    damaged=self.damaged,
                    elapsed_s=elapsed_s,
                    first_s=self.first_s,
                )
            )

    def drive(self, lane: Lane) -> None:
        while self.waiting or self.under_way or self.suspects or self.retries:
            try:
                self._top_up(lane)
                finished, _ = wait(self.under_way, return_when=FIRST_COMPLETED)
                for future in sorted(finished, key=self.under_way.__getitem__):
                    outcome = future.result()
                    del self.under_way[future]
                    self._take(outcome)
            except BrokenProcessPool:
                self._worker_died(lane)
            except Exception as error:
                reason = lane.explain(error)
                if reason is None:
                    raise
                raise StudyError(f"study {self.study.name!r}: {reason}; {_KEPT}") from error

    def _top_up(self, lane: Lane) -> None:
        """Keep the lane filled; suspects go alone, so that it shows which one kills workers."""
        while self.retries:
            first = self.retries[0]
            self._start(lane, first.number, avoid=first.where)
            self.retries.popleft()
        if self.suspects:
            if not self.under_way:
                self._start(lane, self.suspects[0])
            return
        while self.waiting and len(self.under_way) < lane.width:
            self._start(lane, self.waiting[0])
            self.waiting.popleft()

    def _start(self, lane: Lane, number: int, *, avoid: str = "") -> None:
        future = lane.submit(number, self.study.chunks[number], avoid=avoid)
        self.under_way[future] = number

    def _take(self, outcome: Outcome) -> None:
        if outcome.program != program_digest():
            raise StudyError(
                f"worker {outcome.where} runs another version of Gripway than this process; "
                "install the same one on all, or results would be mixed"
            )
        if outcome.text is None:
            if outcome.number in self.failed:
                raise _twice(self.study, outcome)
            self.failed.add(outcome.number)
            self.retries.append(outcome)
            return
        if self.suspects and self.suspects[0] == outcome.number:
            self.suspects.popleft()
        self.store.put(outcome.number, outcome.text)
        self.done += 1
        self.idle_deaths = 0
        self.report()

    def _worker_died(self, lane: Lane) -> None:
        """Go on after a worker process died: what was under way is neither lost nor doubled."""
        for future in [one for one in self.under_way if one.done() and not one.exception()]:
            del self.under_way[future]
            self._take(future.result())
        lost = sorted(self.under_way.values())
        self.under_way.clear()
        self.idle_deaths += not lost
        if self.idle_deaths > _MOST_IDLE_DEATHS:
            raise StudyError(
                f"study {self.study.name!r}: worker processes die before they begin (memory?); "
                f"give fewer --workers; {_KEPT}"
            )
        if self.suspects and lost == [self.suspects[0]]:
            number = self.suspects[0]
            raise StudyError(
                f"chunk {number} of study {self.study.name!r} has killed its worker process twice "
                f"(memory?); its inputs: {_short(self.study.chunks[number])}; run it with "
                f"--workers 1 to see why; {_KEPT}"
            )
        self.suspects.extend(number for number in lost if number not in self.suspects)
        lane.renew()


def _twice(study: Study, outcome: Outcome) -> StudyError:
    number = outcome.number
    return StudyError(
        f"chunk {number} of study {study.name!r} failed twice, last on {outcome.where}: "
        f"{outcome.fault}; its inputs: {_short(study.chunks[number])}; this is a fault of "
        f"Gripway or of its installation, please report it; {_KEPT}"
    )


def _short(inputs: object) -> str:
    text = repr(inputs)
    return text if len(text) <= 200 else text[:197] + "..."
