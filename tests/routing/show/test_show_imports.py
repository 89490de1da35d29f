"""Drawing is paid for only where something is drawn."""

import ast
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]


def imported(path: Path) -> set[str]:
    """Return the top packages that a file imports, wherever in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module.split(".")[0])
    return found


def test_matplotlib_is_imported_in_show_only() -> None:
    files = [*ROOT.glob("routing/**/*.py"), *ROOT.glob("structures/**/*.py")]
    users = {file for file in files if "matplotlib" in imported(file)}
    assert users
    show = ROOT / "routing" / "show"
    assert [str(file) for file in sorted(users) if not file.is_relative_to(show)] == []


def test_nobody_uses_pyplot() -> None:
    for file in ROOT.glob("routing/show/**/*.py"):
        assert "pyplot" not in file.read_text(encoding="utf-8")


def test_importing_the_map_module_loads_neither_matplotlib_nor_shapely() -> None:
    program = (
        "import sys, routing.show.maps.maps, routing.show.maps.unrolled\n"
        "import routing.show.charts.profile, routing.show.sheets.saving\n"
        "print(sorted({'matplotlib', 'shapely', 'scipy', 'networkx'} & set(sys.modules)))"
    )
    answer = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert answer.stdout.strip() == "[]"
