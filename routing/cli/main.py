"""The command `gripway`: one module a command, exit codes 0, 1 and 2.

0: answered and safe. 1: answered, but no route, unsafe, or a finding that
blocks. 2: the input or the call is wrong, or Gripway itself is: a fault of its
own must never look like an answer. (130: stopped by Ctrl-C, as shells have it.)
"""

import atexit
import gc
import os
import sys
from collections.abc import Sequence
from typing import Final

from routing.errors import RoutingError
from structures.errors import InvalidDocumentError, StructureError

__all__ = ["main"]

_RING_SEARCH: Final = 200_000
"""So many new containers make Python look for rings that no name leads to any more."""
_WRONG: Final = 2
_STOPPED: Final = 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; nothing ends in a traceback."""
    args = list(sys.argv[1:] if argv is None else argv)
    # Records and graphs are big and hold no rings: looking for rings in them, again
    # and again while they grow, was a sixth of a cold answer.
    gc.set_threshold(_RING_SEARCH)
    # The same once more on the way out, through all that is there.
    atexit.unregister(gc.freeze)
    atexit.register(gc.freeze)
    # Nothing here multiplies big matrices: threads made ready for that, in a library that is
    # loaded for arrays, were an eighth of a cold answer. Who sets a number keeps it.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # What reads and checks documents must not change with what else is installed; nor
    # need a cold answer look through every installed package for such plug-ins.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # A name in a letter that the terminal lacks is written as an escape, not a crash.
    _replace_unknown_letters()
    try:
        # Only now: what is loaded from here on is loaded under these settings.
        from routing.cli.calls import run_call

        code = run_call([*args] or ["--help"])
        sys.stdout.flush()
    except KeyboardInterrupt:
        _say("stopped; no file was written by halves")
        return _STOPPED
    except BrokenPipeError:
        # The reader has gone (`| head`): what it missed must not pass for an answer.
        _drop_output()
        return _WRONG
    except Exception as error:  # noqa: BLE001 (the outermost frame: no fault may look like an answer)
        _explain(error)
        return _WRONG
    # A call without any command is shown the help, and is still no answer.
    return code if args else _WRONG


def _explain(error: Exception) -> None:
    from routing.cli.calls import DEBUG_VARIABLE, call_fault

    fault = call_fault(error)
    if fault is not None:
        _say(*fault)
    elif isinstance(error, InvalidDocumentError):
        _say(*(str(problem) for problem in error.problems))
        many = len(error.problems)
        _say(f"{many} problem{'s' if many > 1 else ''}; nothing was computed or written")
    elif isinstance(error, StructureError | RoutingError):
        _say(str(error))
    elif isinstance(error, OSError):
        named = error.filename or "output"
        _say(f"{named}: {error.strerror or error}; nothing was written by halves")
        if error.filename is None:
            _drop_output()
    else:
        _say(
            f"internal fault ({type(error).__name__}: {error}); this is no answer: please report it"
        )
        if os.environ.get(DEBUG_VARIABLE) == "1":
            import traceback

            traceback.print_exception(error)


def _say(*lines: str) -> None:
    from routing.paths.answers.step_text import one_line

    for line in lines:
        sys.stderr.write(one_line(line) + "\n")


def _replace_unknown_letters() -> None:
    import io

    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _drop_output() -> None:
    """Send what is still unwritten nowhere, so that the end of the process does not complain."""
    import io

    if isinstance(sys.stdout, io.TextIOWrapper) and sys.stdout is sys.__stdout__:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
