"""How long one cold answer takes, against a process that only imports what every command needs."""

import os
import resource
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from statistics import median

import pytest

pytestmark = pytest.mark.benchmark

ROOT = Path(__file__).parents[2]
TIMES = 11
LITERAL = "import numpy, pydantic, typer"
"""`import pydantic` only makes a shell that imports the rest when a name is asked for."""
BASELINE = "import numpy, typer; from pydantic import BaseModel, Field"
"""The same three libraries, really imported."""
CALL = "import sys; sys.argv[1:1] = ['route', 'examples/station/station.toml', 'hatch', 'W28']; "
COMMAND = CALL + "from routing.cli.leaving import run; run()"
"""What the installed command does."""
NOT_NEEDED = ("matplotlib", "scipy.spatial", "networkx", "numba", "numpy.ma", "rich")


def run(args: Sequence[str], cache: Path) -> tuple[float, float]:
    """Run one python process with cached bytecode; return its processor and wall time [s]."""
    env = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    env["PYTHONPYCACHEPREFIX"] = str(cache)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begin = time.perf_counter()
    subprocess.run(
        [sys.executable, *args], cwd=ROOT, env=env, check=True, stdout=subprocess.DEVNULL
    )
    wall_s = time.perf_counter() - begin
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    user_s, system_s = after.ru_utime - before.ru_utime, after.ru_stime - before.ru_stime
    return user_s + system_s, wall_s


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_cold_route_against_bare_imports(protocol: str, tmp_path: Path) -> None:
    calls = {
        "literal": ["-c", LITERAL],
        "imported": ["-c", BASELINE],
        "ours": ["-c", COMMAND, "--protocol", protocol],
    }
    for args in calls.values():
        run(args, tmp_path)
    rounds = [{name: run(args, tmp_path) for name, args in calls.items()} for _ in range(TIMES)]
    for kind, i in (("processor", 0), ("wall", 1)):
        least = {name: min(one[name][i] for one in rounds) for name in calls}
        middle = {name: median(one[name][i] for one in rounds) for name in calls}
        for name, said in (("imported", "target 2"), ("literal", "a lazy shell of pydantic")):
            print(
                f"\ncold route, {protocol}, {kind}: median {1000 * middle['ours']:.0f} ms = "
                f"{middle['ours'] / middle[name]:.2f} x bare imports, {name} ({said}; "
                f"{1000 * middle[name]:.0f} ms), best {least['ours'] / least[name]:.2f} x",
                end="",
            )


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_cold_route_leaves_slow_libraries_out(protocol: str) -> None:
    code = CALL + (
        "from routing.cli.main import main; code = main(); assert code == 0, code; "
        f"late = [m for m in {NOT_NEEDED!r} if m in sys.modules]; assert not late, late"
    )
    subprocess.run(
        [sys.executable, "-c", code, "--protocol", protocol],
        cwd=ROOT,
        check=True,
        stdout=subprocess.DEVNULL,
    )
