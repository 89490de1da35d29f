"""A folder with one good document, faults put into it, and what is said of them."""

import shutil
from pathlib import Path

import pytest

from structures.errors import InvalidDocumentError, Problem
from structures.files import read_structure
from tests.structures.broken.fault import Fault

__all__ = ["GOOD", "check", "good_folder", "mutate", "problems_of"]

GOOD = Path(__file__).parent / "broken"


def good_folder(tmp_path: Path) -> Path:
    """Return a folder with the good document and table, a link and a folder in it."""
    inner = tmp_path / "inner"
    inner.mkdir()
    shutil.copy(GOOD / "good.toml", inner / "depot.toml")
    shutil.copy(GOOD / "rails.csv", inner / "rails.csv")
    shutil.copy(GOOD / "rails.csv", tmp_path / "rails.csv")
    (inner / "link.csv").symlink_to(tmp_path / "rails.csv")
    (inner / "folder.csv").mkdir()
    return inner


def problems_of(path: Path) -> tuple[Problem, ...]:
    with pytest.raises(InvalidDocumentError) as caught:
        read_structure(path)
    assert caught.value.problems
    return caught.value.problems


def check(problems: tuple[Problem, ...], fault: Fault) -> None:
    fitting = [
        problem
        for problem in problems
        if fault.place in problem.place
        and fault.message in problem.message
        and fault.remedy in problem.remedy
    ]
    assert fitting, "\n".join(str(problem) for problem in problems)
    for problem in problems:
        assert problem.place
        assert problem.message
        assert problem.remedy
        assert "pydantic" not in str(problem)
        assert "\n" not in str(problem)
        assert len(str(problem)) < 600


def mutate(path: Path, fault: Fault) -> None:
    text = path.read_text(encoding="utf-8")
    assert fault.old in text, "the good file has changed"
    path.write_text(text.replace(fault.old, fault.new, 1), encoding="utf-8")
