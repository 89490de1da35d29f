"""A small study for the tests of running: worker processes import it by its name."""

import os
import signal
import sys
import time
from pathlib import Path
from typing import Any

from routing.paths.answers.results import InputDigest
from routing.studies.running.study import Column, Study

COLUMNS = (
    Column("number", "count", "what was worked on"),
    Column("name", "text", "a text"),
    Column("parts", "texts", "some texts"),
    Column("root_m", "number", "its root"),
    Column("odd", "flag", "whether it is odd"),
)


def prepare(shared: dict[str, Any]) -> dict[str, Any]:
    return {**shared, "prepared": os.getpid()}


def rows(ready: dict[str, Any], inputs: list[int]) -> list[tuple[Any, ...]]:
    _trouble(ready, inputs[0])
    return [
        (n, f"=n{n}", [f"a{n}", "b"], n**0.5, bool(n % 2)) if n % 7 else (n, *[None] * 4)
        for n in inputs
    ]


_under_way: list[int] = []


def lone_rows(ready: dict[str, Any], inputs: list[int]) -> list[tuple[Any, ...]]:
    """Work that two threads must not do at once."""
    if _under_way:
        raise RuntimeError(f"{_under_way} is under way")
    _under_way.append(inputs[0])
    time.sleep(0.05)
    _under_way.clear()
    return rows(ready, inputs)


def _trouble(ready: dict[str, Any], first: int) -> None:
    """Log the call, and do what a test has asked for at this chunk."""
    folder = Path(ready["folder"])
    with (folder / "calls.log").open("a") as log:
        log.write(f"{first} {os.getpid()}\n")
    time.sleep(ready.get("pause_s", 0.0))
    _hold(ready, folder, first)
    if first != ready.get("at"):
        return
    once = folder / "was-here"
    if ready["once"] and once.exists():
        return
    once.write_text(str(os.getpid()))
    if ready["trouble"] == "die":
        os.kill(os.getpid(), signal.SIGKILL)
    raise RuntimeError("trouble was asked for")


def _hold(ready: dict[str, Any], folder: Path, first: int) -> None:
    """Do not go past a chunk before a test says so: what it stops is stopped in the middle."""
    if first < ready.get("hold_from", first + 1):
        return
    parent = os.getppid()
    while not (folder / GO).exists() and os.getppid() == parent:
        time.sleep(0.01)


GO = "go"
"""A file of this name in a study's folder lets it go on."""


def calls(folder: Path) -> list[tuple[int, int]]:
    """Return (chunk's first number, process id) of every call so far."""
    lines = (folder / "calls.log").read_text().splitlines()
    return [(int(first), int(pid)) for first, pid in (line.split() for line in lines)]


def small_study(folder: Path, **shared: Any) -> Study:
    """Return a study of 12 chunks of 5 rows; the log of its calls goes to the folder."""
    return Study(
        name="small",
        columns=COLUMNS,
        prepare=prepare,
        work=rows,
        shared={"folder": str(folder), **shared},
        chunks=[list(range(n, n + 5)) for n in range(0, 60, 5)],
        content={"what": "small"},
        inputs=(InputDigest(name="none.toml", sha256="0" * 64),),
        parameters={"rows": 60},
    )


def main() -> None:
    """Run the study with a file of rows, for a test that kills this process half-way."""
    from routing.cli.study_options import Running, run_for

    folder, out, workers = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
    study = small_study(folder, hold_from=25)
    print(sum(1 for _ in run_for(study, Running(workers=workers, rows=out))))  # noqa: T201 (read by the test)


if __name__ == "__main__":
    main()
