"""The review pack in a real browser: steps and places, filter, print, no network, accessibility.

Skipped where no Chromium or no playwright is on the machine; accessibility needs axe-core,
whose script is named by GRIPWAY_AXE (``npm pack axe-core`` and unpack it): it is
too large to be kept here. ``.ci/run`` provides all three where it can.
"""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from routing.show.pack.page import review_pack
from tests.routing.show.pack_ground import EXAMPLES, material_of, pack_of, small_material
from tests.routing.show.test_pack_hostile import hostile

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
if CHROMIUM is None:
    pytest.skip("no chromium on this machine", allow_module_level=True)
sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")


@pytest.fixture(name="browser", scope="module")
def chromium() -> Iterator[Any]:
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


class Opened:
    """A page opened from the disk, with all that it said and asked for."""

    def __init__(
        self, browser: Any, path: Path, width: int = 1400, *, bypass_csp: bool = False
    ) -> None:
        self.context = browser.new_context(
            viewport={"width": width, "height": 900},
            reduced_motion="reduce",
            bypass_csp=bypass_csp,
        )
        self.page = self.context.new_page()
        self.told: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda message: self.told.append(message.text))
        self.page.on("pageerror", lambda error: self.told.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(path.as_uri())

    def assert_quiet(self, path: Path) -> None:
        assert self.told == []
        assert {url.partition("#")[0] for url in self.asked} == {path.as_uri()}


@pytest.fixture(name="path", scope="module")
def small_pack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("pack") / "small.html"
    path.write_text(pack_of(), encoding="utf-8")
    return path


@pytest.fixture(name="opened")
def opened_pack(browser: Any, path: Path) -> Iterator[Opened]:
    opened = Opened(browser, path)
    yield opened
    opened.assert_quiet(path)
    opened.context.close()


STROKE = "one => getComputedStyle(one).stroke"


def test_a_step_shows_its_place_and_a_place_its_step(opened: Opened) -> None:
    page = opened.page
    button = page.locator("#w1 button[data-step='3']")
    place = page.locator("#w1 .place[data-step='3']")
    dark = place.locator("circle").first.evaluate(STROKE)
    button.click()
    assert button.get_attribute("aria-current") == "step"
    assert "lit" in (place.get_attribute("class") or "").split()
    assert place.locator("circle").first.evaluate(STROKE) != dark
    assert place.locator("circle").first.is_visible()
    page.locator("#w1 .place[data-step='1'] circle").first.click()
    assert page.locator("#w1 [aria-current]").get_attribute("data-step") == "1"
    assert page.locator("#w1 .place.lit").get_attribute("data-step") == "1"
    assert page.evaluate("document.activeElement.dataset.step") == "1"


def test_a_step_is_chosen_from_the_keyboard_and_hovering_shows_the_place(opened: Opened) -> None:
    page = opened.page
    page.locator("#w2 button[data-step='2']").focus()
    page.keyboard.press("Enter")
    assert page.locator("#w2 .place.lit").get_attribute("data-step") == "2"
    page.locator("#w2 button[data-step='1']").hover()
    assert "near" in (page.locator("#w2 .place[data-step='1']").get_attribute("class") or "")


def test_the_first_key_goes_to_the_skip_link(opened: Opened) -> None:
    page = opened.page
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "content"


def test_the_filter_leaves_what_holds_all_words(opened: Opened) -> None:
    page = opened.page
    rows = page.locator("#run-sheet tbody tr")
    everything = rows.count()
    page.locator("#find").fill("valve EV1")
    page.wait_for_function("document.getElementById('found').textContent !== ''")
    shown = rows.locator("visible=true")
    assert 0 < shown.count() < everything
    for text in shown.all_inner_texts():
        assert "valve" in text.lower()
        assert "ev1" in text.lower()
    page.locator("#find").press("Escape")
    assert rows.locator("visible=true").count() == everything


BAD = ".verdict.bad >> visible=true"


def test_an_unsafe_plan_looks_unsafe_whatever_is_looked_for(browser: Any, tmp_path: Path) -> None:
    path = tmp_path / "unsafe.html"
    material = material_of(EXAMPLES / "small" / "outing.toml", closed=("H01",))
    path.write_text(review_pack(material), encoding="utf-8")
    opened = Opened(browser, path, 390)
    page, said = opened.page, ""
    sync_api.expect(page.locator(BAD)).to_have_count(2)
    for text in ("safe", "no line holds this"):
        page.locator("#find").fill(text)
        # Looked for in the next frame: until then it says what was found before.
        page.wait_for_function(
            "was => document.getElementById('found').textContent !== was", arg=said
        )
        said = page.locator("#found").inner_text()
        sync_api.expect(page.locator(BAD)).to_have_count(2)
        assert "clean within" not in page.locator("body").inner_text()
    opened.assert_quiet(path)
    opened.context.close()


DRAWN = "[...document.querySelectorAll('.way .map')].map(one => !!one.querySelector('svg'))"


def test_maps_are_drawn_when_wanted_and_all_before_long(browser: Any, path: Path) -> None:
    context = browser.new_context(viewport={"width": 1400, "height": 300})
    page = context.new_page()
    page.add_init_script("window.idle = []; window.requestIdleCallback = one => idle.push(one);")
    page.goto(path.as_uri())
    assert not any(page.evaluate(DRAWN))
    page.locator("#w2 button[data-step='1']").evaluate("one => one.click()")
    assert page.evaluate(DRAWN)[1]
    page.evaluate("while (idle.length) idle.shift()()")
    drawn = page.evaluate(DRAWN)
    assert len(drawn) > 2
    assert all(drawn)
    context.close()


def test_without_scripts_everything_is_there(browser: Any, path: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(path.as_uri())
    maps = page.locator(".way .map svg")
    assert maps.count() == page.locator(".way .map").count() > 2
    for one in maps.all():
        one.scroll_into_view_if_needed()
        assert one.is_visible()
    context.close()


def test_paper_shows_all_maps_and_what_the_filter_hides(opened: Opened) -> None:
    def printed() -> str:
        return "\n".join(sheet.get_textpage().get_text_range() for sheet in sheets_of(opened, "A4"))

    opened.page.locator("#paper-all").check()
    at_once = printed()
    opened.page.locator("#find").fill("no line holds this")
    opened.page.wait_for_function("document.getElementById('found').textContent !== ''")
    assert opened.page.locator("#findings tbody tr").locator("visible=true").count() == 0
    assert printed() == at_once
    maps = opened.page.locator(".way .map, .chart .map").count()
    assert at_once.count("in all views on a sheet of") == maps > 4


def sheets_of(opened: Opened, paper: str) -> Any:
    """Return what is printed, sheet by sheet."""
    pypdfium2 = pytest.importorskip("pypdfium2", reason="pypdfium2 is not installed")
    return pypdfium2.PdfDocument(opened.page.pdf(format=paper))


def printed_pages(opened: Opened) -> list[str]:
    texts = [sheet.get_textpage().get_text_range() for sheet in sheets_of(opened, "A4")]
    return [" ".join(text.split()) for text in texts]


def sections_on(pages: list[str], titles: list[str]) -> set[str]:
    """Return the titles that stand on paper as headings; the contents have each once too."""
    text = " ".join(pages)
    return {title for title in titles if text.count(title) > 1}


def test_paper_is_short_and_says_what_is_not_on_it(opened: Opened) -> None:
    page = opened.page
    titles = page.locator("h2").all_text_contents()
    steps = page.locator("#w1 .steps button").all_text_contents()
    last = " ".join(steps[-1].split()[1:])
    page.locator("#paper-all").check()
    everything = printed_pages(opened)
    assert sections_on(everything, titles) == set(titles)
    assert "not on this paper" not in everything[0]
    assert last in " ".join(everything)

    page.locator("#paper-maps").check()
    with_maps = printed_pages(opened)
    details = set(page.locator("section.detail h2").all_text_contents())
    assert len(details) == 7
    assert sections_on(with_maps, titles) == set(titles) - details
    assert with_maps[0].count("(not on this paper)") == len(details)
    maps = page.locator(".way .map").count()
    assert " ".join(with_maps).count("in all views on a sheet of") == maps
    assert last not in " ".join(with_maps)
    # Each way with its map is one page; the first stands below what is before it.
    for heading in page.locator(".way h3").all_text_contents()[1:]:
        (sheet,) = [text for text in with_maps if " ".join(heading.split()) in text]
        assert "in all views on a sheet of" in sheet
    page.locator("#w1 .paper input").check()
    assert last in " ".join(printed_pages(opened))

    page.locator("#paper-short").check()
    short = printed_pages(opened)
    ways = str(page.locator("#ways h2").text_content())
    assert sections_on(short, titles) == set(titles) - details - {ways}
    assert short[0].count("(not on this paper)") == len(details) + 1
    assert "approved by" in " ".join(short)
    assert len(short) < len(with_maps) < len(everything)


def test_on_a_phone_rows_are_cards_that_are_still_a_table(browser: Any, path: Path) -> None:
    opened = Opened(browser, path, 390)
    cells = opened.page.locator("#run-sheet td >> visible=true")
    assert cells.count() > 20
    widths = cells.evaluate_all("all => all.map(one => one.getBoundingClientRect().width)")
    assert min(widths) > 300  # across the card: no column of single letters
    for cell in cells.all()[:12]:
        shown = cell.evaluate("one => getComputedStyle(one, '::before').content")
        assert shown.strip('"') == cell.get_attribute("data-head") != ""
    sheet = opened.page.get_by_role("table", name="Run sheet")
    assert sheet.get_by_role("row").count() > 10
    assert sheet.get_by_role("columnheader", name="what").count() == 1
    opened.assert_quiet(path)
    opened.context.close()


def test_a_map_is_made_larger_and_smaller_again(opened: Opened) -> None:
    page = opened.page
    width = "one => one.getBoundingClientRect().width"
    button = page.locator("#w1 .larger")
    page.locator("#w1 button[data-step='1']").click()
    small = page.locator("#w1 svg").evaluate(width)
    button.click()
    assert button.get_attribute("aria-pressed") == "true"
    assert page.locator("#w1 svg").evaluate(width) > 1.3 * small
    button.click()
    assert page.locator("#w1 svg").evaluate(width) == small


def test_the_timeline_is_printed_across(opened: Opened) -> None:
    document = sheets_of(opened, "Letter")
    across = [sheet for sheet in document if sheet.get_width() > sheet.get_height()]
    assert 1 <= len(across) <= 2
    assert "who does what when" in across[0].get_textpage().get_text_range()


@pytest.mark.parametrize("width", [360, 1400])
def test_nothing_is_wider_than_the_page(browser: Any, path: Path, width: int) -> None:
    opened = Opened(browser, path, width)
    wide = opened.page.evaluate("document.documentElement.scrollWidth")
    assert wide <= width
    opened.context.close()


def test_on_paper_ways_begin_pages_and_rows_of_tables_do_not(opened: Opened) -> None:
    opened.page.emulate_media(media="print")
    breaks = "all => all.map(one => getComputedStyle(one).breakBefore)"
    assert set(opened.page.locator("tr").evaluate_all(breaks)) == {"auto"}
    first, *ways = opened.page.locator("article").evaluate_all(breaks)
    assert first == "auto"
    assert set(ways) == {"page"}
    acts = opened.page.locator('#run-sheet td[data-head="act"]')
    widths = acts.evaluate_all("all => all.map(one => one.offsetWidth)")
    # A part of an id between hyphens is not broken: "camera-" takes that much.
    em = acts.first.evaluate("one => parseFloat(getComputedStyle(one).fontSize)")
    assert min(widths) >= 6 * em


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_printed_page_has_the_caution(opened: Opened, paper: str) -> None:
    document = sheets_of(opened, paper)
    assert len(document) > 5
    for sheet in document:
        words = " ".join(sheet.get_textpage().get_text_range().split())
        assert words.startswith("CAUTION: planning aid, not certified for flight.")


def test_hostile_names_run_nothing(browser: Any, tmp_path: Path) -> None:
    path = tmp_path / "evil.html"
    path.write_text(review_pack(hostile(small_material())), encoding="utf-8")
    opened = Opened(browser, path, 360)
    dialogs: list[str] = []
    opened.page.on("dialog", lambda dialog: dialogs.append(dialog.message))
    assert "<script>alert(1)</script>" in opened.page.locator("h1").inner_text()
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 360
    opened.page.wait_for_timeout(100)
    assert dialogs == []
    opened.assert_quiet(path)
    opened.context.close()


def test_the_policy_stops_what_is_not_the_packs_own(opened: Opened) -> None:
    ran = opened.page.evaluate(
        "() => { const one = document.createElement('script'); one.textContent = 'window.ran = 1';"
        " document.body.append(one); return window.ran ?? 0; }"
    )
    assert ran == 0
    assert [text for text in opened.told if "Content Security Policy" in text]
    opened.told.clear()


@pytest.mark.parametrize("width", [360, 1400])
def test_axe_has_no_serious_finding(browser: Any, path: Path, width: int) -> None:
    script = os.environ.get("GRIPWAY_AXE")
    if not script:
        pytest.skip("axe-core is not here: name its axe.min.js in GRIPWAY_AXE")
    opened = Opened(browser, path, width, bypass_csp=True)
    # Laid out in full: what is not, axe looks at in part only.
    opened.page.add_style_tag(content="* { content-visibility: visible !important; }")
    opened.page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert all(opened.page.evaluate(DRAWN))
    opened.page.evaluate(Path(script).read_text(encoding="utf-8"))
    found = opened.page.evaluate("axe.run(document)")
    assert found["passes"]
    serious = [
        (one["id"], one["nodes"][0]["html"][:200])
        for one in found["violations"]
        if one["impact"] in {"serious", "critical"}
    ]
    assert serious == []
    opened.context.close()
