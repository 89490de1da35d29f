"""The command `gripway`: one module a command, exit codes 0, 1 and 2.

0: answered and safe. 1: answered, but no route, unsafe, or a finding that
blocks. 2: the input or the call is wrong.
"""

import os
import sys
from collections.abc import Sequence

import typer

from routing.cli import graph, inspect, map, reach, route, schema, start  # noqa: A004 (command names)
from structures.errors import InvalidDocumentError, StructureError

__all__ = ["app", "main"]

app = typer.Typer(
    name="gripway",
    help=(
        "Plan hand-over-hand routes along handrails over the outside of a station. "
        "Planning aid, not certified for flight."
    ),
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)
for module in (start, inspect, graph, route, reach, map, schema):
    app.command(name=module.__name__.rpartition(".")[2])(module.command)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; wrong input gives 2 and no traceback."""
    try:
        app(args=None if argv is None else list(argv))
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else 2
    except InvalidDocumentError as error:
        _say(*(str(problem) for problem in error.problems))
        many = len(error.problems)
        _say(f"{many} problem{'s' if many > 1 else ''}; nothing was computed or written")
        return 2
    except StructureError as error:
        _say(str(error))
        return 2
    except BrokenPipeError:
        # The reader has gone (`| head`): not a fault, but what it missed is gone too.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 2
    except OSError as error:
        _say(f"{error.filename or 'file'}: {error.strerror or error}; nothing was lost")
        return 2
    return 0


def _say(*lines: str) -> None:
    from routing.paths.steps import one_line

    for line in lines:
        sys.stderr.write(one_line(line) + "\n")
