"""README holds: its structure is answered as it says, its commands and options are there."""

import re
from pathlib import Path

import pytest

from routing.cli.commands import COMMANDS
from tests.cli.command_ground import ROOT, run

README = (ROOT / "README.md").read_text()
USES = README[README.index("## What each user does") : README.index("Most commands take:")]


@pytest.fixture
def module(tmp_path: Path) -> Path:
    path = tmp_path / "module.toml"
    path.write_text(README.split("```toml\n")[1].split("```")[0])
    return path


def test_the_structure_is_whole_and_nothing_in_it_is_doubtful(module: Path) -> None:
    found = run("inspect", module)
    assert found.code == 0
    assert "No findings." in found.out


def test_the_route_on_it_is_safe_and_its_condition_cuts_it(module: Path) -> None:
    said = re.search(r"`gripway (route) module\.toml (\S+) (\S+) (--protocol) (\S+)`", README)
    assert said is not None
    command, start, goal, *options = said.groups()
    found = run(command, module, start, goal, *options)
    assert found.code == 0
    assert "Answered and safe" in found.out
    # The worksite is in the zone and the closed handrail is on the way.
    under = run(command, module, start, goal, *options, "--when", "radar-on")
    assert under.code == 1
    assert "NO ROUTE" in under.out


@pytest.mark.parametrize("line", [line for line in USES.split("\n") if "`gripway " in line])
def test_every_option_told_is_one_of_its_command(line: str) -> None:
    commands = [name for name in re.findall(r"`gripway ([a-z]+)", line) if name in COMMANDS]
    offered = " ".join(run(name, "--help").out for name in commands)
    for option in re.findall(r"(?<![\w-])--?[a-z][\w-]*", line):
        assert option in {"-h", "--help"} or re.search(rf"{option}(?![\w-])", offered), option


def test_every_command_has_its_line() -> None:
    named = set(re.findall(r"`gripway ([a-z]+)", README))
    assert named == set(COMMANDS)
