"""Which engine runs a kernel: plain Python over lists, or the same source compiled over arrays."""

import functools
import importlib.util
from collections.abc import Callable
from typing import Literal, TypeAlias, TypeVar

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
    """Return the kernel compiled by numba; the machine code is kept on disk."""
    import numba

    machine_code: Kernel = numba.njit(cache=True)(kernel)  # type: ignore[assignment] # called like the kernel
    return machine_code
