"""`gripway start`: the examples come out whole, and nothing is overwritten."""

import shutil
from pathlib import Path

import pytest

from tests.cli.command_ground import EXAMPLES, ROOT, assert_answer, assert_refused, run


def test_examples_come_out_as_they_are_and_the_hints_work(tmp_path: Path) -> None:
    folder = tmp_path / "new folder" / "try"
    found = run("start", folder)
    assert_answer(found)
    for original in EXAMPLES.values():
        for file in original.parent.iterdir():
            copied = folder / file.relative_to(ROOT / "examples")
            assert copied.read_bytes() == file.read_bytes()
    # A path with a space must stand in quotes, or the hint does not work when pasted.
    assert f"gripway route '{folder}/station/station.toml' hatch W12" in found.out
    assert run("route", folder / "small" / "small.toml", "hatch", "W1").code == 0
    assert f"gripway outing '{folder}/station/outing.toml'" in found.out
    assert run("outing", folder / "small" / "outing.toml").code == 0
    assert [one.name for one in folder.parent.iterdir()] == ["try"]


def test_what_is_there_is_refused(tmp_path: Path) -> None:
    taken = tmp_path / "mine"
    taken.mkdir()
    (taken / "plan.txt").write_text("keep")
    assert_refused(run("start", taken), "mine", "is there already", "name a folder")
    assert (taken / "plan.txt").read_text() == "keep"
    assert_refused(run("start", taken / "plan.txt"), "is there already")
    link = tmp_path / "link"
    link.symlink_to(tmp_path / "nowhere")
    assert_refused(run("start", link), "is there already")
    assert_refused(run("start", taken / "plan.txt" / "new"), "plan.txt")


@pytest.mark.parametrize(("fault", "code"), [(KeyboardInterrupt, 130), (OSError(28, "full"), 2)])
def test_a_copy_cut_short_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException, code: int
) -> None:
    real = shutil.copyfile

    def fail_late(source: Path, target: Path) -> Path:
        if source.name == "station.toml":
            raise fault
        return real(source, target)

    monkeypatch.setattr(shutil, "copyfile", fail_late)
    found = run("start", tmp_path / "a" / "b")
    assert (found.code, found.out) == (code, "")
    assert "Traceback" not in found.err
    assert list(tmp_path.iterdir()) == []
