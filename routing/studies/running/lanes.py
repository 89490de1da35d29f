"""Where chunks run: in this process, on worker processes, or on a cluster by its address.

All three take work through a `concurrent.futures` executor.
"""

import os
import signal
import threading
from abc import ABC, abstractmethod
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import Any

from routing.studies.running.study import Json, StudyError
from routing.studies.running.tasks import Outcome, Payload, run_chunk, whereabouts

__all__ = ["Lane", "open_lane"]

_CONNECT_S = 30


class Lane(ABC):
    """Where chunks run."""

    width: int
    """Chunks that are worth having under way at a time."""

    @abstractmethod
    def submit(self, number: int, inputs: Json, *, avoid: str = "") -> "Future[Outcome]":
        """Start a chunk, and not on the worker to avoid if there is another one."""

    def renew(self) -> None:
        """Start anew after a worker died and took the lane along."""
        raise StudyError("the lane that chunks run on cannot be started anew")

    def explain(self, error: Exception) -> str | None:
        """Return what an error of the lane itself means, None for any other error."""
        del error
        return None

    @abstractmethod
    def close(self, *, at_once: bool) -> None:
        """Let go of all workers; at once: without waiting for what they are doing."""


def open_lane(payload: Payload, *, workers: int, cluster: str | None) -> Lane:
    """Return where the chunks of a study run.

    Raises
    ------
    StudyError
        The cluster does not answer, or what talks to it is not installed.
    """
    if cluster is not None:
        return _Cluster(payload, cluster)
    return _InProcess(payload) if workers <= 1 else _Processes(payload, workers)


class _InProcess(Lane):
    """One chunk after another, here."""

    width = 1

    def __init__(self, payload: Payload) -> None:
        self._payload = payload

    def submit(self, number: int, inputs: Json, *, avoid: str = "") -> "Future[Outcome]":
        del avoid  # there is only this process
        future: Future[Outcome] = Future()
        future.set_result(run_chunk(self._payload, number, inputs))
        return future

    def close(self, *, at_once: bool) -> None:
        del at_once  # nothing is under way between two chunks


class _Processes(Lane):
    """Worker processes, started anew each (not forked: that is not safe beside threads)."""

    def __init__(self, payload: Payload, workers: int) -> None:
        self.width = 2 * workers  # the next chunk lies ready when one is done
        self._workers = workers
        self._payload = payload
        self._context = get_context("spawn")
        # The workers hold one end and leave as soon as the other is gone, however this
        # process ends; otherwise a run that is killed would leave them behind for good.
        self._theirs, self._mine = self._context.Pipe(duplex=False)
        self._pool = self._start(workers)
        self._elsewhere: ProcessPoolExecutor | None = None

    def submit(self, number: int, inputs: Json, *, avoid: str = "") -> "Future[Outcome]":
        if not avoid:
            return self._pool.submit(_run_adopted, number, inputs)
        if self._elsewhere is None:
            self._elsewhere = self._start(1)
        return self._elsewhere.submit(_run_adopted, number, inputs)

    def renew(self) -> None:
        self._pool.shutdown(wait=False, cancel_futures=True)
        if self._elsewhere is not None:
            self._elsewhere.shutdown(wait=False, cancel_futures=True)
            self._elsewhere = None
        self._pool = self._start(self._workers)

    def close(self, *, at_once: bool) -> None:
        if at_once:
            self._mine.close()
        for pool in (self._pool, self._elsewhere):
            if pool is not None:
                pool.shutdown(wait=True, cancel_futures=True)
        if not at_once:
            self._mine.close()
        self._theirs.close()

    def _start(self, workers: int) -> ProcessPoolExecutor:
        return ProcessPoolExecutor(
            workers,
            mp_context=self._context,
            initializer=_adopt,
            initargs=(self._payload, self._theirs),
        )


class _Adopted:
    """What a worker process was given when it started."""

    payload: Payload | None = None


def _adopt(payload: Payload, parent: Connection) -> None:
    """Begin as a worker process: know the study, leave when the parent does, ignore Ctrl-C."""
    _Adopted.payload = payload
    # Ctrl-C reaches the whole group of processes; the parent decides what it means.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with, args=(parent,), daemon=True).start()


def _leave_with(parent: Connection) -> None:
    parent.poll(None)
    os._exit(1)


def _run_adopted(number: int, inputs: Json) -> Outcome:
    if _Adopted.payload is None:
        raise StudyError("a worker process was not told what to work on")
    return run_chunk(_Adopted.payload, number, inputs)


class _Cluster(Lane):
    """Workers of a dask cluster, through its `concurrent.futures` interface."""

    def __init__(self, payload: Payload, address: str) -> None:
        try:
            from distributed import Client
        except ImportError as error:
            raise StudyError(
                "what talks to a cluster is not installed; install gripway[cluster], or use "
                "--workers"
            ) from error
        try:
            connect: Any = Client  # it has no annotations
            self._client = connect(address, timeout=_CONNECT_S, set_as_default=False)
        except (OSError, ValueError) as error:
            raise StudyError(
                f"no cluster answers at {address!r} ({error}); give the scheduler's address, "
                "for instance tcp://10.0.0.5:8786, and see that it runs"
            ) from error
        threads = sum(self._client.nthreads().values())
        if not threads:
            self._client.close()
            raise StudyError(f"the cluster at {address!r} has no workers; start some")
        self.width = 2 * threads
        # Not scattered: what is scattered is lost with its worker, this is made again.
        self._payload = self._client.submit(Payload, *payload, pure=False)

    def submit(self, number: int, inputs: Json, *, avoid: str = "") -> "Future[Outcome]":
        executor = self._client.get_executor(pure=False, **self._others(avoid))
        future: Future[Outcome] = executor.submit(run_chunk, self._payload, number, inputs)
        return future

    def _others(self, avoid: str) -> dict[str, Any]:
        if not avoid:
            return {}
        places = self._client.run(whereabouts)
        others = [worker for worker, place in places.items() if place != avoid]
        return {"workers": others} if others else {}

    def explain(self, error: Exception) -> str | None:
        from distributed.comm.core import CommClosedError
        from distributed.scheduler import KilledWorker

        if isinstance(error, KilledWorker):
            return (
                f"a chunk has killed several workers of the cluster (memory?): {error}; run it "
                "with --workers 1 to see why"
            )
        if isinstance(error, CancelledError | CommClosedError | TimeoutError):
            return (
                f"the cluster no longer answers ({type(error).__name__}: {error}); see that its "
                "scheduler and workers run, and start again"
            )
        return None

    def close(self, *, at_once: bool) -> None:
        del at_once  # what is under way is given up with the client, which the scheduler sees
        self._client.close()
