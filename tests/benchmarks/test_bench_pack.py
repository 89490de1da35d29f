"""The review pack of the station outing: bytes, and time to the first click that is answered."""

import shutil
import statistics
import time
from pathlib import Path
from typing import Any

import pytest

from tests.routing.show.pack_ground import pack_of

pytestmark = pytest.mark.benchmark
CHROMIUM = shutil.which("chromium")


def test_first_click(tmp_path: Path) -> None:
    if CHROMIUM is None:
        pytest.skip("no chromium on this machine")
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    pack = tmp_path / "pack.html"
    pack.write_text(pack_of("station"), encoding="utf-8")
    size = pack.stat().st_size
    empty = tmp_path / "empty.html"
    shell = "<!DOCTYPE html><html lang='en'><title>empty</title><body><!--{}--></body></html>"
    empty.write_text(shell.format("x" * (size - len(shell) + 2)), encoding="utf-8")
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        times: dict[str, list[float]] = {"empty": [], "pack": []}
        for _ in range(7):
            times["empty"].append(_opened(browser, empty, ""))
            times["pack"].append(_opened(browser, pack, "#w1 button[data-step='2']"))
        browser.close()
    empty_s, pack_s = (statistics.median(times[one]) for one in ("empty", "pack"))
    print(f"\npack of the station outing: {size / 1e6:.2f} MB (aim < 8)")
    print(
        f"first click answered {pack_s / empty_s:.2f} x one load of an empty page of that size "
        f"({1000 * pack_s:.0f} ms against {1000 * empty_s:.0f} ms, medians of 7; aim <= 2)"
    )
    assert size < 8e6


def _opened(browser: Any, path: Path, click: str) -> float:
    page = browser.new_page()
    start_s = time.perf_counter()
    page.goto(path.as_uri())
    if click:
        answered = page.evaluate(
            "which => { const one = document.querySelector(which); one.click();"
            " const lit = document.querySelector('#w1 .place.lit circle');"
            " return one.getAttribute('aria-current') === 'step'"
            " && lit.getBoundingClientRect().width > 0; }",
            click,
        )
        assert answered is True
    taken_s = time.perf_counter() - start_s
    page.close()
    return taken_s
