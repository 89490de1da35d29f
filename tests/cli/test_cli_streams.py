"""Output that nobody takes and a run that is stopped: no traceback, nothing by halves."""

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.cli.command_ground import EXAMPLES, ROOT

SMALL = EXAMPLES["small"]
SCRIPT = "import sys; from routing.cli.main import main; sys.exit(main())"


def start_process(*args: object, **streams: Any) -> "subprocess.Popen[bytes]":
    return subprocess.Popen(
        [sys.executable, "-c", SCRIPT, *map(str, args)],
        cwd=ROOT,
        # An empty value leaves the output buffered, as it is where people work.
        env=os.environ | {"PYTHONIOENCODING": "utf-8", "PYTHONUNBUFFERED": ""},
        **({"stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | streams),
    )


class TestStreams:
    def test_reader_that_has_gone(self) -> None:
        reading, writing = os.pipe()
        process = start_process("route", SMALL, "hatch", "W1", stdout=writing)
        os.close(writing)
        os.close(reading)
        _, err = process.communicate(timeout=60)
        assert process.returncode == 2
        assert err == b""

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
    def test_output_that_is_full(self) -> None:
        with Path("/dev/full").open("wb") as full:
            process = start_process("route", SMALL, "hatch", "W1", stdout=full)
            _, err = process.communicate(timeout=60)
        assert process.returncode == 2
        assert b"No space left on device" in err
        assert b"Traceback" not in err
        assert b"Exception ignored" not in err

    def test_stopped_by_a_signal(self, tmp_path: Path) -> None:
        script = (
            "import os, signal, sys\n"
            "import routing.graph.build\n"
            "from routing.cli.main import main\n"
            # What a shell starts in the background ignores this signal, and so do its children.
            "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
            "stop = lambda *_: os.kill(os.getpid(), signal.SIGINT)\n"
            "routing.graph.build.build_graph = stop\n"
            "sys.exit(main())\n"
        )
        out = tmp_path / "m.svg"
        done = subprocess.run(
            [sys.executable, "-c", script, "map", SMALL, "-o", out, "--route", "hatch", "W1"],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        assert (done.returncode, done.stdout) == (130, "")
        assert done.stderr == "stopped; no file was written by halves\n"
        assert list(tmp_path.iterdir()) == []
