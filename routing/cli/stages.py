"""Progress of long work, on stderr: a stage is named once it has taken a second."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Timer

from routing.paths.answers.step_text import one_line

__all__ = ["stage"]

_QUIET_S = 1.0


@contextmanager
def stage(doing: str) -> Iterator[None]:
    """Say on stderr what is being done if it lasts, and how long it took."""
    doing = one_line(doing)
    started_s = time.monotonic()
    said = False

    def say() -> None:
        nonlocal said
        said = True
        sys.stderr.write(f"{doing} ...\n")
        sys.stderr.flush()

    timer = Timer(_QUIET_S, say)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        if said:
            sys.stderr.write(f"{doing}: {time.monotonic() - started_s:.1f} s\n")
