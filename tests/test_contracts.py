"""The import contracts hold, and each of them really bites: a seeded fault is caught."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]

pytest.importorskip("importlinter", reason="import-linter is in the dev group only")

FAULTS = {
    "structures-alone": ("structures/units.py", "import routing"),
    "one-way": ("routing/graph/situation.py", "import routing.paths.route"),
    "paths-one-way": ("routing/paths/search/engine.py", "import routing.paths.tethers.stack"),
    "drawing-in-show": ("routing/paths/route.py", "import matplotlib"),
    "terminal-in-cli": ("structures/units.py", "import typer"),
}


def lint_imports(folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"],
        cwd=folder,
        env={"PYTHONPATH": str(folder), "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    for name in ("structures", "routing"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def test_contracts_hold(copy: Path) -> None:
    answer = lint_imports(copy)
    assert answer.returncode == 0, answer.stdout


@pytest.mark.parametrize("contract", sorted(FAULTS))
def test_contract_bites(copy: Path, contract: str) -> None:
    file, fault = FAULTS[contract]
    target = copy / file
    target.write_text(target.read_text() + f"\n{fault}\n")
    answer = lint_imports(copy)
    assert answer.returncode == 1
    broken = [line for line in answer.stdout.splitlines() if "BROKEN" in line]
    assert len(broken) >= 1
    configured = (ROOT / "pyproject.toml").read_text()
    name = configured.split(f'id = "{contract}"\nname = "')[1].split('"')[0]
    assert any(name in line for line in broken), answer.stdout
