"""The table of commands: its words are the commands' own, and a call imports one module of it."""

import subprocess
import sys

import pytest

from routing.cli.commands import COMMANDS, load_command
from tests.cli.command_ground import ROOT, run

MODULES = tuple(f"routing.cli.{name}" for name in COMMANDS)
SCRIPT = f"""
import sys
from routing.cli.main import main
main(sys.argv[1:])
print("loaded:", *(name for name in {MODULES!r} if name in sys.modules), file=sys.stderr)
"""


def loaded_by(*args: str) -> list[str]:
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, *args], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return done.stderr.rpartition("loaded:")[2].split()


@pytest.mark.parametrize("name", list(COMMANDS))
def test_table_says_what_the_command_says(name: str) -> None:
    assert COMMANDS[name] == (load_command(name).__doc__ or "").partition("\n")[0]


@pytest.mark.parametrize("name", list(COMMANDS))
def test_each_command_explains_itself_under_its_own_name(name: str) -> None:
    found = run(name, "--help")
    assert found.code == 0
    assert found.out.startswith(f"Usage: gripway {name} ")
    assert COMMANDS[name] in " ".join(found.out.split())


def test_help_lists_all_and_imports_none() -> None:
    listed = " ".join(run("--help").out.split())
    for name, line in COMMANDS.items():
        assert f" {name} {line}" in listed
    assert loaded_by("--help") == []


@pytest.mark.parametrize("name", ["graph", "schema"])
def test_a_call_imports_its_own_module_only(name: str) -> None:
    assert loaded_by(name, "--help") == [f"routing.cli.{name}"]


def test_a_wrong_name_is_told_the_near_ones_and_imports_none() -> None:
    assert "'reach'" in run("raech").err
    assert loaded_by("raech") == []
