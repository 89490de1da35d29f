"""What is put off is still there for who asks for it."""

import subprocess
import sys
from importlib.metadata import entry_points, version

from routing.cli import put_off
from tests.cli.command_ground import ROOT

AFTERWARDS = """
import sys
from routing.cli.put_off import put_off_package_lists
put_off_package_lists()
assert "pydantic.plugin._loader" in sys.modules
assert "importlib.metadata" not in sys.modules, "put off"
{use}
"""


def run(use: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", AFTERWARDS.format(use=use)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.strip()


def test_the_search_for_plug_ins_finds_what_it_would_have_found() -> None:
    group = "console_scripts"
    use = f"""
from pydantic.plugin import _loader
print(sorted(one.name for one in _loader.entry_points(group={group!r})))
"""
    assert run(use) == str(sorted(one.name for one in entry_points(group=group)))


def test_everyone_else_gets_the_module_itself() -> None:
    use = """
import importlib.metadata as lists
print(type(lists).__name__, lists.version("pydantic"))
"""
    assert run(use) == f"module {version('pydantic')}"


def test_a_module_that_is_there_already_stays() -> None:
    before = sys.modules["importlib.metadata"]
    put_off.put_off_package_lists()
    assert sys.modules["importlib.metadata"] is before


def test_a_stand_in_gives_what_the_module_has() -> None:
    use = """
from routing.cli import put_off
stand_in = put_off._PutOff("importlib.metadata")
sys.modules["importlib.metadata"] = stand_in
from importlib.metadata import version
print(version("pydantic"), sys.modules["importlib.metadata"] is stand_in)
"""
    assert run(use) == f"{version('pydantic')} False"
