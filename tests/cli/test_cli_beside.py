"""`gripway map --beside`: other routes beside the one asked for, unsafe ones marked as such."""

from pathlib import Path

import pytest

from tests.cli.command_ground import EXAMPLES, ROOT, assert_answer, assert_refused, run

STATION, SMALL = EXAMPLES["station"], EXAMPLES["small"]
ONE_REEL = ("--route", "hatch", "W20", "--protocol", "reel", "--reel", "85ft")


def _drawn(tmp_path: Path, *options: str) -> tuple[str, str]:
    """Return what the command said, and the texts and groups of the drawing."""
    output = tmp_path / "map.svg"
    found = run("map", STATION, "-o", output, *options)
    assert_answer(found)
    return found.out, output.read_text()


def test_the_least_time_path_is_shown_unsafe_beside_the_exact_route(tmp_path: Path) -> None:
    said, drawing = _drawn(tmp_path, *ONE_REEL, "--around", "--beside", "least-time")
    assert "hatch to W20: answered and safe, 416 s, 24.95 m, transfers 0" in said
    assert ("least-time: UNSAFE, 307 s, 30.24 m, transfers 0, line runs out at H9033@0.236") in said
    for group in ("route-1.way", "route-2.way", "route-2.runs-out"):
        assert group in drawing
    assert "route-1.runs-out" not in drawing
    for text in (
        "A: within the rules",
        "B: least-time, UNSAFE",
        "B: line runs out",
        "tether line runs out: do not follow this route",
    ):
        assert f">{text}" in drawing


def test_the_readme_shows_this_case() -> None:
    text = (ROOT / "README.md").read_text()
    assert "--route hatch W20 --around --protocol reel --reel 85ft --beside least-time" in text
    answer = run("route", STATION, "hatch", "W20", "--protocol", "reel", "--reel", "85ft",
                 "--json").answer  # fmt: skip
    assert f"takes {answer['totals']['seconds']:.0f} s." in text


def test_with_line_enough_the_two_are_one_and_safe(tmp_path: Path) -> None:
    said, drawing = _drawn(
        tmp_path, "--route", "hatch", "W12", "--protocol", "reel", "--around",
        "--beside", "least-time",
    )  # fmt: skip
    assert "least-time: answered and safe, 148 s" in said
    assert "runs-out" not in drawing
    assert "UNSAFE" not in drawing


def test_alternatives_and_fallback_are_drawn(tmp_path: Path) -> None:
    trip = ("--route", "hatch", "W12", "--around")
    said, drawing = _drawn(tmp_path, *trip, "--beside", "alternatives")
    assert "alternative 1: answered and safe, 1067 s" in said
    assert "alternative 2: answered and safe, 1128 s" in said
    assert ">C: alternative 2" in drawing
    said, drawing = _drawn(tmp_path, *trip, "--beside", "fallback")
    assert "fallback: answered and safe, 1267 s" in said
    assert ">B: fallback" in drawing


@pytest.mark.parametrize(
    ("options", "remedy"),
    [
        (("--beside", "fallback"), "add --route FROM TO"),
        (("--route", "hatch", "W1", "--beside", "least-time"), "add --protocol reel"),
        (
            ("--route", "hatch", "W1", "--second", "hatch", "W1", "--beside", "fallback"),
            "one at a time",
        ),
        (("--route", "hatch", "W1", "--beside", "shortest"), "not allowed; give one of"),
    ],
)
def test_what_cannot_be_drawn_is_refused(
    tmp_path: Path, options: tuple[str, ...], remedy: str
) -> None:
    assert_refused(run("map", SMALL, "-o", tmp_path / "map.svg", *options), remedy)
    assert not (tmp_path / "map.svg").exists()
