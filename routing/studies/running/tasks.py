"""What a worker does: one chunk at a time, with what all chunks share made once a process."""

import os
import pickle
import socket
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

from routing.studies.running.store import rows_text
from routing.studies.running.study import Column, Json, Study, program_digest

__all__ = ["Outcome", "Payload", "pack", "run_chunk", "whereabouts"]

_KEPT = 2
"""Studies of which a process keeps what is shared, so that a long-lived worker stays small."""


class Payload(NamedTuple):
    """What every chunk of a study needs, as it is sent to workers once."""

    digest: str
    """Of the study."""
    job: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came of a chunk: its rows as text, or what went wrong."""

    number: int
    text: str | None = None
    fault: str | None = None
    where: str = ""
    """Which worker it was on."""
    program: str = ""
    """Digest of the program that the worker ran."""


class _Job(NamedTuple):
    columns: tuple[Column, ...]
    prepare: Callable[[Any], Any]
    work: Callable[[Any, Any], Any]
    shared: Any


class _Ready(NamedTuple):
    columns: tuple[Column, ...]
    work: Callable[[Any, Any], Any]
    prepared: Any
    busy: threading.Lock
    """Held by the chunk under way: what is prepared keeps what it last looked at, and workers
    of a cluster run as many threads as they like."""


def pack(study: Study, digest: str) -> Payload:
    """Return what all chunks of a study need as bytes."""
    job = _Job(study.columns, study.prepare, study.work, study.shared)
    return Payload(digest, pickle.dumps(tuple(job), protocol=pickle.HIGHEST_PROTOCOL))


_ready: OrderedDict[Payload, _Ready] = OrderedDict()
_lock = threading.Lock()


def _unpack(payload: Payload) -> _Ready:
    """Return what the chunks of a study share, made by the first of them in this process."""
    with _lock:
        if payload in _ready:
            _ready.move_to_end(payload)
        else:
            # Safe to load: it comes from the process that started this worker or hired it.
            job = _Job(*pickle.loads(payload.job))  # noqa: S301 (from the process that started this one)
            prepared = job.prepare(job.shared)
            _ready[payload] = _Ready(job.columns, job.work, prepared, threading.Lock())
            while len(_ready) > _KEPT:
                _ready.popitem(last=False)
        return _ready[payload]


def whereabouts() -> str:
    """Return which machine and process this is."""
    return f"{socket.gethostname()}:{os.getpid()}"


def run_chunk(payload: Payload, number: int, inputs: Json) -> Outcome:
    """Work out one chunk; a fault of the work is an outcome too, with where it happened."""
    where = whereabouts()
    program = program_digest()
    try:
        ready = _unpack(payload)
        with ready.busy:
            text = rows_text(ready.columns, ready.work(ready.prepared, inputs))
    except Exception as error:  # noqa: BLE001 (whatever it is, it is told with the chunk it was in)
        fault = f"{type(error).__name__}: {error}"
        return Outcome(number=number, fault=fault, where=where, program=program)
    return Outcome(number=number, text=text, where=where, program=program)
