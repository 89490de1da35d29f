"""How the process of a command ends: at once, where nothing is left to be done.

The interpreter ends by letting go of all objects and modules one by one, which
takes longer the more a command has read and built, and nobody waits for it: the
system takes memory back in one piece. So what must happen still happens (what
is registered for the end, the last output), and then the process is left.
"""

import atexit
import os
import sys
import threading
from typing import NoReturn

from routing.cli.main import main

__all__ = ["leave", "run"]


def run() -> NoReturn:
    """Run the command of this process; its exit code is that of `routing.cli.main.main`."""
    leave(main())


def leave(code: int) -> NoReturn:
    """End the process with an exit code, at once if nothing but memory is left to clear up.

    With another thread that has to be waited for, under a debugger or a
    profiler, and where the last output does not get through, it ends the
    interpreter's own way: that waits, reports and complains.
    """
    watched = sys.gettrace() is not None or sys.getprofile() is not None
    awaited = [one for one in threading.enumerate() if not one.daemon]
    if awaited == [threading.main_thread()] and not watched:
        # Pools of processes are joined and temporary folders removed in here.
        atexit._run_exitfuncs()  # noqa: SLF001 (the interpreter's own step; it has no other name)
        if _is_all_written():
            os._exit(code)
    sys.exit(code)


def _is_all_written() -> bool:
    try:
        for stream in (sys.stdout, sys.stderr):
            if stream is not None:
                stream.flush()
    except (OSError, ValueError):
        return False
    return True
