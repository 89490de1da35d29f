"""What `gripway route` loads: a single answer pays for nothing it does not use."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from routing.cli.commands import COMMANDS
from tests.cli.command_ground import EXAMPLES, ROOT

SLOW = (
    "matplotlib",
    "networkx",
    "numba",
    "numpy.ma",
    "rich",
    "scipy",
    "shapely",
)

OTHER_COMMANDS = (
    "routing.worksites",
    "routing.outings",
    "routing.studies",
    "routing.show",
    "routing.paths.no_route.answer",
    "routing.paths.choices.what_if",
    "structures.built_in",
    "structures.comparison",
    "structures.inspection",
    "structures.views",
)
"""Packages and modules of our own that only other commands and answers need."""

LITTLE_USED = (
    "structures.files.schema",
    "structures.files.writer",
)
"""Modules that cost a cold answer time for something that it does not do."""

OUR_OWN = {"routing", "structures"}

BARE = """
import sys
import numpy, typer.main
from pydantic import BaseModel, Field
class Anything(BaseModel):
    text: str = Field(max_length=9)
code = 0
"""
"""What no command can do without."""

CALL = """
import sys
from routing.cli.main import main
code = main(sys.argv[1:])
"""

REPORT = """
print("loaded:", *sorted(sys.modules), file=sys.stderr)
sys.exit(code)
"""


def loaded_by(*args: str) -> set[str]:
    """Return the modules that a command has loaded when it is done."""
    return loaded_with(CALL, *args)


def loaded_with(code: str, *args: str) -> set[str]:
    done = subprocess.run(
        [sys.executable, "-c", code + REPORT, *args],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    # Answered, be it with findings that block: what is loaded is the question here.
    assert done.returncode in {0, 1}, done.stderr
    return set(done.stderr.rpartition("loaded:")[2].split())


def inside(loaded: set[str], names: tuple[str, ...]) -> list[str]:
    """Return the loaded modules that are one of the names or lie in it."""
    return sorted(
        one for one in loaded if any(one == name or one.startswith(f"{name}.") for name in names)
    )


def tops(loaded: set[str]) -> set[str]:
    """Return the top packages among modules that do not come with Python."""
    return {name.partition(".")[0] for name in loaded} - sys.stdlib_module_names


@pytest.mark.parametrize("options", [(), ("--json",), ("--protocol", "reel")])
def test_a_route_on_the_station_loads_no_slow_library(options: tuple[str, ...]) -> None:
    loaded = loaded_by("route", str(EXAMPLES["station"]), "hatch", "W12", *options)
    bare = loaded_with(BARE)
    # numpy below 2 loads its masked arrays whenever it is imported; nothing to save there.
    slow = [name for name in SLOW if not (name == "numpy.ma" and name in bare)]
    assert inside(loaded, slow) == []
    assert inside(loaded, OTHER_COMMANDS) == []
    assert inside(loaded, LITTLE_USED) == []
    assert ("json" in loaded) == ("--json" in options)
    commands = {f"routing.cli.{name}" for name in COMMANDS} & loaded
    assert commands == {"routing.cli.route"}
    assert tops(loaded) - tops(bare) <= OUR_OWN


def test_the_names_looked_for_are_those_of_modules() -> None:
    for name in OTHER_COMMANDS:
        place = Path(ROOT, *name.split("."))
        assert place.is_dir() or place.with_suffix(".py").is_file(), name


def test_the_check_can_fail() -> None:
    loaded = loaded_by("reach", str(EXAMPLES["small"]))
    assert "rich" in inside(loaded, SLOW)
    assert "routing.worksites" in inside(loaded, OTHER_COMMANDS)


THREADS = """
import os, sys
from routing.cli.main import main
assert "numpy" not in sys.modules, "it would have made its threads ready already"
code = main(["schema", "route"])
print(os.environ["OPENBLAS_NUM_THREADS"])
sys.exit(code)
"""


@pytest.mark.parametrize(("wanted", "got"), [(None, "1"), ("2", "2")])
def test_no_threads_are_made_ready_unless_they_are_asked_for(wanted: str | None, got: str) -> None:
    env = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    if wanted is not None:
        env["OPENBLAS_NUM_THREADS"] = wanted
    done = subprocess.run(
        [sys.executable, "-c", THREADS],
        cwd=ROOT,
        env=env,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split()[-1] == got
