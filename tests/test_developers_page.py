"""DEVELOPERS.md names what is there: files, folders, options of the benchmarks, sections."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PAGE = (ROOT / "DEVELOPERS.md").read_text()
SPANS = sorted(set(re.findall(r"`([^`\n]+)`", PAGE)))
PATHS = [one for one in SPANS if re.fullmatch(r"[\w.-]*(/[\w.-]*)+|[\w-]+\.(py|toml|md)", one)]
OUTSIDE = {"../shared/data/rcsp"}
"""Named as something that may be missing."""


def _there() -> list[str]:
    folders = ("structures", "routing", "tests", "examples", ".ci")
    found = [path for one in folders for path in (ROOT / one, *(ROOT / one).rglob("*"))]
    return [f"/{path.relative_to(ROOT).as_posix()}" for path in found] + ["/pyproject.toml"]


def test_files_and_folders_named_are_there() -> None:
    there = _there()
    named = [one.rstrip("/") for one in PATHS if one not in OUTSIDE]
    assert len(named) > 60
    assert [one for one in named if not any(path.endswith(f"/{one}") for path in there)] == []


def test_benchmarks_named_are_picked_by_their_option() -> None:
    text = "\n".join(path.read_text() for path in (ROOT / "tests" / "benchmarks").glob("*.py"))
    names = re.findall(r"def (test_\w+)", text)
    options = sorted(set(re.findall(r"`-k (\w+)`", PAGE)))
    assert options
    assert [one for one in options if not any(one in name for name in names)] == []


@pytest.mark.parametrize("page", ["DEVELOPERS.md", "README.md"])
def test_links_lead_somewhere(page: str) -> None:
    text = (ROOT / page).read_text()
    heads = re.findall(r"^#+ (.+)$", text, flags=re.MULTILINE)
    anchors = {re.sub(r"[^\w -]", "", head.lower()).replace(" ", "-") for head in heads}
    for target in re.findall(r"\]\(([^)]+)\)", text):
        assert target[1:] in anchors if target.startswith("#") else (ROOT / target).exists(), target
