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
TIMES = 9
BASELINE = "import numpy, pydantic, typer"
COMMAND = (
    "import sys; from routing.cli.main import main; "
    "sys.exit(main(['route', 'examples/station/station.toml', 'hatch', 'W28', *sys.argv[1:]]))"
)
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
    baseline, command = ["-c", BASELINE], ["-c", COMMAND, "--protocol", protocol]
    run(baseline, tmp_path)
    run(command, tmp_path)
    pairs = [(run(baseline, tmp_path), run(command, tmp_path)) for _ in range(TIMES)]
    base_cpu_s, base_wall_s = (median(base[i] for base, _ in pairs) for i in range(2))
    cpu_s, wall_s = (median(ours[i] for _, ours in pairs) for i in range(2))
    print(
        f"\ncold route, {protocol}: processor {1000 * cpu_s:.0f} ms = {cpu_s / base_cpu_s:.2f} x "
        f"bare imports ({1000 * base_cpu_s:.0f} ms), wall {wall_s / base_wall_s:.2f} x (target 2)"
    )


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_cold_route_leaves_slow_libraries_out(protocol: str) -> None:
    code = COMMAND.replace("sys.exit(", "code = (") + (
        f"; assert code == 0, code; late = [m for m in {NOT_NEEDED!r} if m in sys.modules]; "
        "assert not late, late"
    )
    subprocess.run(
        [sys.executable, "-c", code, "--protocol", protocol],
        cwd=ROOT,
        check=True,
        stdout=subprocess.DEVNULL,
    )
