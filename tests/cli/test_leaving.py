"""The end of a command's process: nothing that matters is lost by leaving at once."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.command_ground import EXAMPLES, ROOT

COMMAND = "from routing.cli.leaving import run; run()"

LEAVE = """
import atexit, os, sys, threading
from routing.cli.leaving import leave
leave_at_once = os._exit
def told_and_left(code):
    os.write(2, b"at once;")
    leave_at_once(code)
os._exit = told_and_left
atexit.register(os.write, 2, b"at the end;")
{before}
sys.stdout.write("whole")
leave(3)
"""

WATCHED = "sys.setprofile(lambda *_: None)"
AT_WORK = """
def work():
    threading.main_thread().join()
    os.write(2, b"worked;")
threading.Thread(target=work).start()
"""
"""Another thread, which certainly is still there when the main one is done."""
IN_THE_BACKGROUND = "threading.Thread(target=threading.Event().wait, daemon=True).start()"
"""One that nobody waits for, such as the clock of a stage that has just ended."""


def ended(code: str, *args: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, *args], cwd=ROOT, capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize(
    ("args", "code"),
    [
        (("route", str(EXAMPLES["small"]), "hatch", "W1"), 0),
        (("route", str(EXAMPLES["small"]), "hatch", "W1", "--close", "hatch"), 2),
        ((), 2),
    ],
)
def test_a_command_says_and_answers_the_same(args: tuple[str, ...], code: int) -> None:
    left = ended(COMMAND, *args)
    usual = ended("import sys; from routing.cli.main import main; sys.exit(main())", *args)
    assert left.returncode == usual.returncode == code
    assert left.stdout == usual.stdout
    assert left.stderr == usual.stderr


@pytest.mark.parametrize("before", ["", IN_THE_BACKGROUND])
def test_what_is_registered_for_the_end_is_done_first(before: str) -> None:
    done = ended(LEAVE.format(before=before))
    assert (done.returncode, done.stdout, done.stderr) == (3, "whole", "at the end;at once;")


@pytest.mark.parametrize(
    ("before", "said"), [(WATCHED, "at the end;"), (AT_WORK, "worked;at the end;")]
)
def test_with_more_to_be_done_the_interpreter_ends_its_own_way(before: str, said: str) -> None:
    done = ended(LEAVE.format(before=before))
    assert (done.returncode, done.stdout, done.stderr) == (3, "whole", said)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
def test_output_that_does_not_get_through_is_no_success() -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-c", LEAVE.format(before="")],
            cwd=ROOT,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode not in {0, 3}
    assert "No space left" in done.stderr
    assert "at once" not in done.stderr
