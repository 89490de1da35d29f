"""What `gripway route` loads: a single answer pays for nothing it does not use."""

import subprocess
import sys

import pytest

from tests.cli.command_ground import EXAMPLES, ROOT

SLOW = ("matplotlib", "networkx", "numba", "rich", "scipy", "shapely")

SCRIPT = """
import sys
from routing.cli.main import main
code = main(sys.argv[1:])
loaded = sorted(name for name in {watched!r} if name in sys.modules)
print("loaded:", *loaded, file=sys.stderr)
sys.exit(code)
"""


def loaded_by(*args: str) -> list[str]:
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT.format(watched=SLOW), *args],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stderr.rpartition("loaded:")[2].split()


@pytest.mark.parametrize("options", [(), ("--json",), ("--protocol", "reel")])
def test_a_route_on_the_station_loads_no_slow_library(options: tuple[str, ...]) -> None:
    assert loaded_by("route", str(EXAMPLES["station"]), "hatch", "W12", *options) == []


def test_the_check_can_fail() -> None:
    assert "rich" in loaded_by("reach", str(EXAMPLES["small"]))
