"""Long work is named on stderr, short work is not, and no name steers the terminal."""

import time

import pytest

from routing.cli import stages


def test_only_what_lasts_is_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(stages, "_QUIET_S", 0.05)
    with stages.stage("reading a\x1b[31m\nb"):
        time.sleep(0.4)
    with stages.stage("blinking"):
        pass
    found = capsys.readouterr()
    assert found.out == ""
    first, second = found.err.splitlines()
    assert first == "reading a [31m b ..."
    assert second.startswith("reading a [31m b: ")
    assert second.endswith(" s")
