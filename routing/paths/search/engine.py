"""Which engine runs a kernel: plain Python over lists, or the same source compiled over arrays."""

import functools
import importlib.util
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal, TypeAlias, TypeVar

__all__ = ["BIG_JOB_STEPS", "Engine", "choose_engine", "compiled"]

Engine: TypeAlias = Literal["auto", "plain", "compiled"]
Kernel = TypeVar("Kernel", bound=Callable[..., object])

BIG_JOB_STEPS = 8_000_000
"""Moves looked at from which compiling pays.

Loading the compiler and a cached kernel takes about as long as plain Python
needs for this many relaxations.
"""


def choose_engine(engine: Engine, *, moves: int, searches: int = 1) -> Literal["plain", "compiled"]:
    """Return the engine to use; ``auto`` compiles big jobs when numba is installed.

    Both engines run the same source in the same order and give the same bits.

    Parameters
    ----------
    engine
        ``plain`` and ``compiled`` are taken as they are.
    moves
        Moves of the network.
    searches
        How many searches the caller is going to make.

    Raises
    ------
    ModuleNotFoundError
        ``compiled`` was asked for and numba is missing.

    Examples
    --------
    >>> choose_engine("auto", moves=50_000)
    'plain'
    """
    if engine == "plain":
        return "plain"
    if engine == "compiled":
        if not _has_compiler():
            raise ModuleNotFoundError(
                "the compiled engine needs numba; install the extra gripway[fast] "
                "or choose the plain engine"
            )
        return "compiled"
    return "compiled" if moves * searches >= BIG_JOB_STEPS and _has_compiler() else "plain"


@functools.cache
def _has_compiler() -> bool:
    return importlib.util.find_spec("numba") is not None


@functools.cache
def compiled(kernel: Kernel) -> Kernel:
    """Return the kernel compiled by numba; the machine code is kept on disk where that can be."""
    import numba

    try:
        kept: Any = numba.njit(cache=True)(kernel)
        _drop_what_others_left(kernel, Path(kept.stats.cache_path))
    except (OSError, RuntimeError):
        # No folder that machine code may be kept in, or one with code that cannot be taken out.
        kept = numba.njit(kernel)
    machine_code: Kernel = kept  # called like the kernel
    return machine_code


def _drop_what_others_left(kernel: Callable[..., object], folder: Path) -> None:
    """Delete the kernel's machine code on disk if it was made from other sources than these.

    numba looks at the kernel's own file only. Machine code reads the fields of the
    NamedTuples that it takes by their place, so that after an edit of these, in another
    file, it would go on with the wrong ones; and it fails to load once one is renamed.
    """
    import hashlib

    from structures.files.writer import write_file

    whole = hashlib.sha256()
    for path in _sources(kernel):
        whole.update(path.name.encode() + b"\0" + path.read_bytes())
    name = f"{kernel.__module__.rpartition('.')[2]}.{kernel.__qualname__}"
    mark, now = folder / f"{name}.sources", whole.hexdigest().encode()
    if mark.is_file() and mark.read_bytes() == now:
        return
    for index in folder.glob(f"{name}-*.nbi"):
        index.unlink(missing_ok=True)
    write_file(mark, now)


def _sources(kernel: Callable[..., object]) -> list[Path]:
    """Return the files that a kernel, and all of our own that it names, are in."""
    named = [
        kernel.__module__,
        *(getattr(v, "__module__", "") for v in kernel.__globals__.values()),
    ]
    package = kernel.__module__.partition(".")[0]
    modules = {one for one in named if one and one.partition(".")[0] == package}
    return sorted(Path(str(sys.modules[one].__file__)) for one in modules)
