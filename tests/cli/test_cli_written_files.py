"""Files that a command is to write: checked before any work, whole or not at all."""

import os
from pathlib import Path

import pytest

from tests.cli.command_ground import EXAMPLES, assert_refused, copy_small, run

SMALL = EXAMPLES["small"]
WRITERS: dict[str, tuple[object, ...]] = {
    "graph": ("graph", SMALL, "-o"),
    "map": ("map", SMALL, "-o"),
    "profile": ("route", SMALL, "hatch", "W1", "--profile"),
    "csv": ("reach", SMALL, "--csv"),
}
SUFFIXES = {"graph": ".json", "map": ".svg", "profile": ".pdf", "csv": ".csv"}


@pytest.fixture
def no_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fail the test if the long work begins."""

    def build(*_: object) -> None:
        pytest.fail("the reach graph was built before the call was checked")

    monkeypatch.setattr("routing.graph.build.build_graph", build)
    monkeypatch.setattr("routing.show.maps.from_route.draw_routes", build)


@pytest.mark.usefixtures("no_work")
class TestTargets:
    @pytest.mark.parametrize("name", ["graph", "map", "profile"])
    @pytest.mark.parametrize("suffix", ["", ".txt", ".svgz", ".json.gz"])
    def test_wrong_suffix(self, tmp_path: Path, name: str, suffix: str) -> None:
        found = run(*WRITERS[name], tmp_path / f"out{suffix}")
        assert_refused(found, f"'out{suffix}' has a suffix that is not written; end it in .")

    @pytest.mark.parametrize("name", sorted(WRITERS))
    def test_folder_that_is_not_there(self, tmp_path: Path, name: str) -> None:
        found = run(*WRITERS[name], tmp_path / "none" / f"out{SUFFIXES[name]}")
        assert_refused(found, "there is no folder")
        assert list(tmp_path.iterdir()) == []

    @pytest.mark.parametrize("name", sorted(WRITERS))
    def test_folder_in_the_place_of_the_file(self, tmp_path: Path, name: str) -> None:
        path = tmp_path / f"out{SUFFIXES[name]}"
        path.mkdir()
        assert_refused(run(*WRITERS[name], path), "is not a regular file")

    def test_pipe_is_not_replaced(self, tmp_path: Path) -> None:
        # Writing whole or not at all would put a file in the place of a pipe or device.
        pipe = tmp_path / "pipe.csv"
        os.mkfifo(pipe)
        assert_refused(run("reach", SMALL, "--csv", pipe), "is not a regular file")
        assert pipe.is_fifo()

    @pytest.mark.parametrize("name", sorted(WRITERS))
    def test_folder_without_rights(
        self, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        # The tests may run as root, for whom there are no rights to lack.
        monkeypatch.setattr(
            "routing.cli.output_files.os.access", lambda _, mode: not mode & os.W_OK
        )
        found = run(*WRITERS[name], tmp_path / f"out{SUFFIXES[name]}")
        assert_refused(found, "nothing may be written to folder")

    def test_two_results_never_go_to_one_file(self, tmp_path: Path) -> None:
        table = tmp_path / "table.csv"
        link = tmp_path / "chains.csv"
        link.symlink_to(table)
        for other in (table, link):
            found = run("reach", SMALL, "--protocol", "reel", "--csv", table, "--chains", other)
            assert_refused(found, "is written to", "name another file")
            assert not table.exists()

    def test_inputs_are_never_overwritten(self, tmp_path: Path) -> None:
        structure = copy_small(tmp_path / "in")
        rails = structure.parent / "handrails.csv"
        limits = structure.parent / "limits.toml"
        limits.write_text("schema_version = 1\nlength_unit = 'm'\n")
        link = tmp_path / "table.csv"
        link.symlink_to(rails)
        before = {path: path.read_bytes() for path in structure.parent.iterdir()}
        for target in (structure, rails, limits, link):
            found = run("reach", structure, "--csv", target, "--limits", limits)
            assert_refused(found, "is what is being read")
        assert {path: path.read_bytes() for path in structure.parent.iterdir()} == before


@pytest.mark.parametrize("name", sorted(WRITERS))
@pytest.mark.parametrize(
    ("fault", "code", "said"),
    [
        (KeyboardInterrupt(), 130, "stopped"),
        (OSError(28, "No space left on device", "out"), 2, "No space left on device"),
    ],
)
def test_writing_cut_short_leaves_what_was_there(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
    fault: BaseException,
    code: int,
    said: str,
) -> None:
    path = tmp_path / f"out{SUFFIXES[name]}"
    path.write_text("before")

    def fail(*_: object) -> None:
        raise fault

    monkeypatch.setattr(Path, "replace", fail)
    found = run(*WRITERS[name], path)
    assert (found.code, found.out) == (code, "")
    assert said in found.err
    assert "Traceback" not in found.err
    assert path.read_text() == "before"
    assert list(tmp_path.iterdir()) == [path]
