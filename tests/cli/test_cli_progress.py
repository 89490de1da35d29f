"""Long work is named on stderr, short work is not, and no name steers the terminal."""

import time

import pytest

from routing.cli import stages


def test_only_what_lasts_is_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # Waited for and never waited for: no time that a busy machine could miss.
    monkeypatch.setattr(stages, "_QUIET_S", 0.01)
    said = ""
    with stages.stage("reading a\x1b[31m\nb"):
        while "\n" not in said:
            time.sleep(0.01)
            said += capsys.readouterr().err
    monkeypatch.setattr(stages, "_QUIET_S", 3600.0)
    with stages.stage("blinking"):
        pass
    found = capsys.readouterr()
    assert found.out == ""
    first, second = (said + found.err).splitlines()
    assert first == "reading a [31m b ..."
    assert second.startswith("reading a [31m b: ")
    assert second.endswith(" s")
