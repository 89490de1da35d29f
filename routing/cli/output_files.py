"""Where results are to be written, checked before the long work rather than after it."""

import os
from collections.abc import Sequence
from pathlib import Path

from structures.errors import Problem
from structures.frozen import frozen

__all__ = ["Target", "check_targets"]


@frozen()
class Target:
    """A file that is to be written: the option that names it, and the suffixes it may have."""

    option: str
    path: Path
    suffixes: tuple[str, ...] = ()
    """Empty: any."""


def check_targets(targets: Sequence[Target], read: Sequence[Path], problems: list[Problem]) -> None:
    """Report targets that cannot be written, or would overwrite what is read or one another.

    Parameters
    ----------
    targets
        Files to be written.
    read
        Files that the answer is made from.
    problems
        Where what is wrong is added.
    """
    inputs = {os.path.realpath(path) for path in read}
    taken: dict[str, str] = {}
    for target in targets:
        fault = _fault(target) or _overwrites(target, inputs, taken)
        if fault is not None:
            message, remedy = fault
            problems.append(
                Problem(place=f"option {target.option}", message=message, remedy=remedy)
            )


def _fault(target: Target) -> tuple[str, str] | None:
    path = target.path
    if target.suffixes and path.suffix.lower() not in target.suffixes:
        return f"{path.name!r} has a suffix that is not written", _end_in(target.suffixes)
    if not path.parent.is_dir():
        return f"there is no folder {str(path.parent)!r}", "make it first, or name another"
    if path.exists() and not path.is_file():
        return f"{str(path)!r} is there and is not a regular file", "name another file"
    if not os.access(path.parent, os.W_OK | os.X_OK):
        return f"nothing may be written to folder {str(path.parent)!r}", "name another folder"
    return None


def _overwrites(target: Target, inputs: set[str], taken: dict[str, str]) -> tuple[str, str] | None:
    """Tell of a file that is needed already; ``taken`` has the option each target is for."""
    path = os.path.realpath(target.path)
    if path in inputs:
        return f"{target.path.name!r} is what is being read", "name another file"
    if path in taken:
        return f"{target.path.name!r} is what {taken[path]} is written to", "name another file"
    taken[path] = target.option
    return None


def _end_in(suffixes: tuple[str, ...]) -> str:
    return f"end it in {' or '.join(suffixes)}"
