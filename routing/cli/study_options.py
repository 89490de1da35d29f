"""The options that all studies share, and how a study is run by them."""

import os
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final, TypeAlias

import typer

from routing.paths.answers.step_text import one_line
from structures.errors import Problem

if TYPE_CHECKING:
    from routing.cli.output_files import Target
    from routing.studies.running.run import Progress, Watch
    from routing.studies.running.study import Row, Study

__all__ = [
    "ClusterOption",
    "RowsOption",
    "Running",
    "WorkOption",
    "WorkersOption",
    "progress_on_stderr",
    "run_for",
]

WorkersOption: TypeAlias = Annotated[
    int,
    typer.Option(
        "--workers",
        metavar="N",
        help="Worker processes; the answer is the same with any number of them.",
    ),
]
ClusterOption: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--cluster",
        metavar="ADDRESS",
        help="Work on a dask cluster: its scheduler's address, such as tcp://10.0.0.5:8786.",
    ),
]
WorkOption: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--work",
        metavar="FOLDER",
        help="Keep finished parts here; a run that was stopped goes on from them. "
        "With --rows it is FILE.work, deleted at the end.",
    ),
]
RowsOption: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--rows",
        metavar="FILE",
        help="Write all rows: .csv, .jsonl or .parquet, with FILE.about.json beside it.",
    ),
]

_MOST_WORKERS: Final = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """What the shared options say."""

    workers: int = 1
    cluster: str | None = None
    work: Path | None = None
    rows: Path | None = None

    def targets(self) -> "list[Target]":
        """Return the files that are to be written, for `Choices.targets`."""
        from routing.cli.output_files import Target
        from routing.studies.running.row_files import ROW_SUFFIXES, about_path

        if self.rows is None:
            return []
        return [Target("--rows", self.rows, ROW_SUFFIXES), Target("--rows", about_path(self.rows))]

    def problems(self) -> tuple[Problem, ...]:
        """Return what is wrong with the options themselves."""
        found = []
        if not 1 <= self.workers <= _MOST_WORKERS:
            found.append(
                Problem(
                    place="option --workers",
                    message=f"{self.workers} worker processes",
                    remedy=f"give 1 to {_MOST_WORKERS}; this machine has {os.cpu_count()} cores",
                )
            )
        if self.cluster is not None and self.workers != 1:
            found.append(
                Problem(
                    place="option --cluster",
                    message="the cluster has workers of its own",
                    remedy="leave out --workers, or --cluster",
                )
            )
        if self.work is not None and self.work.exists() and not self.work.is_dir():
            found.append(
                Problem(
                    place="option --work",
                    message=f"{str(self.work)!r} is there and is not a folder",
                    remedy="name a folder, or one that is not there yet",
                )
            )
        if self.work is not None and self.rows is not None and _same_place(self.work, self.rows):
            found.append(
                Problem(
                    place="option --work",
                    message=f"{str(self.work)!r} is the file of --rows too",
                    remedy="name a folder of its own, or leave --work out",
                )
            )
        return (*found, *self._form())

    def _form(self) -> tuple[Problem, ...]:
        from importlib.util import find_spec

        if self.rows is None or self.rows.suffix.lower() != ".parquet" or find_spec("pyarrow"):
            return ()
        return (
            Problem(
                place="option --rows",
                message="Parquet needs pyarrow, which is not installed",
                remedy="install gripway[parquet], or name a .csv or .jsonl file",
            ),
        )


def _same_place(one: Path, other: Path) -> bool:
    return os.path.realpath(one) == os.path.realpath(other)


def run_for(study: "Study", running: Running) -> "Iterator[Row]":
    """Run a study as the options say, write the rows where asked, and return them in order.

    Rows that are written to a file are read back chunk by chunk for what is
    shown, so that memory stays bounded.
    """
    from routing.studies.running.row_files import write_rows
    from routing.studies.running.run import forget_study, run_study

    passing = running.work is None and running.rows is not None
    folder = running.work
    if passing and running.rows is not None:
        folder = running.rows.with_name(running.rows.name + ".work")

    def rows() -> "Iterator[Row]":
        return run_study(
            study,
            workers=running.workers,
            cluster=running.cluster,
            folder=folder,
            progress=progress_on_stderr(study.name),
        )

    if running.rows is not None:
        write_rows(running.rows, study, rows())
    yield from rows()
    if passing and folder is not None:
        forget_study(study, folder)


_EVERY_S: Final = 2.0
_EVERY_APART_S: Final = 30.0
"""Where lines stay (a log), fewer of them."""


def progress_on_stderr(doing: str) -> "Watch":
    """Return a watch that says on stderr how far a study is and how much time is left."""
    doing = one_line(doing)
    wipes = sys.stderr.isatty()
    said_s = time.monotonic()
    said = damaged = resumed = False

    def watch(progress: "Progress") -> None:
        nonlocal said_s, said, damaged, resumed
        if progress.damaged and not damaged:
            damaged = True
            _say(f"{doing}: {progress.damaged} finished parts were damaged and are done again\n")
        if progress.resumed and not resumed and progress.done < progress.total:
            resumed = True
            _say(f"{doing}: goes on after {progress.resumed} of {progress.total} parts\n")
        now_s = time.monotonic()
        last = progress.done == progress.total
        if last and not said:
            return
        every_s = _EVERY_S if wipes or not said else _EVERY_APART_S
        if not last and now_s - said_s < every_s:
            return
        said_s, said = now_s, True
        left = ""
        if progress.left_s is not None and not last:
            most = "at most " if progress.left_is_most else ""
            left = f", {most}{_duration(progress.left_s)} left"
        line = f"{doing}: {progress.done} of {progress.total} parts{left}"
        _say(f"\r\x1b[K{line}" + ("\n" if last else "") if wipes else f"{line}\n")

    return watch


def _say(text: str) -> None:
    sys.stderr.write(text)
    sys.stderr.flush()


def _duration(seconds: float) -> str:
    """Return a time as people say it.

    Examples
    --------
    >>> _duration(41.2), _duration(500.0), _duration(9000.0)
    ('41 s', '8 min', '2.5 h')
    """
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"
