"""Every answer about ways says in its first lines on which tethers; defaults are README's."""

from pathlib import Path

import pytest

from tests.cli.command_ground import EXAMPLES, ROOT, run

SMALL = EXAMPLES["small"]
PLAN = ROOT / "examples" / "small" / "outing.toml"
BOTH = ("leapfrog", "reel")


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("route", SMALL, "hatch", "W1"), ("protocol leapfrog",)),
        (("choices", SMALL, "hatch", "W1"), ("protocol leapfrog",)),
        (("map", SMALL, "-o", "a.svg", "--route", "hatch", "W1"), ("protocol leapfrog",)),
        (("reach", SMALL), ("protocol leapfrog",)),
        (("closures", SMALL), ("protocol leapfrog",)),
        (("both", SMALL, "--first", "hatch", "W1", "--second", "hatch", "W3"), ("protocol reel",)),
        (("people", SMALL), BOTH),
        (("pairs", SMALL), BOTH),
        (("home", SMALL), BOTH),
        (("outing", PLAN), ("EV1: protocol reel, ", "EV2: protocol reel, ")),
    ],
)
def test_the_first_lines_name_the_protocol(
    args: tuple[object, ...], said: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    head = " ".join(run(*args).out.splitlines()[:3])
    for text in said:
        assert text in head
    assert ("reel" in head) == ("reel" in " ".join(said))
    assert ("leapfrog" in head) == ("leapfrog" in " ".join(said))
