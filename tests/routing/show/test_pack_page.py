"""The review pack as a document: its parts, its policy, and names made to be misread."""

import base64
import hashlib
import math
import re
import shutil
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from routing.caution import CAUTION
from routing.limits import Limits, limit_source
from routing.paths.answers.step_text import steps_with_places
from routing.show.pack.credibility import credibility_section, is_placeholder
from routing.show.pack.material import unsafe_sites, ways_of
from routing.show.pack.page import review_pack
from routing.show.pack.sites import sites_section
from tests.routing.show.pack_ground import (
    EXAMPLES,
    Element,
    material_of,
    pack_of,
    parsed,
    small_material,
)


@pytest.fixture(name="page", scope="module")
def small_page() -> Element:
    return parsed(pack_of())


def squeezed(text: str) -> str:
    return " ".join(text.split())


def test_it_has_one_of_each_landmark_and_headings_in_order(page: Element) -> None:
    for name in ("header", "nav", "main", "footer", "h1", "title"):
        assert len([one for one in page.all(name) if not one.is_in("svg")]) == 1, name
    levels = [int(one.tag[1]) for one in page.all() if re.fullmatch("h[1-6]", one.tag)]
    assert levels[0] == 1
    assert all(b <= a + 1 for a, b in pairwise(levels))
    (html,) = page.all("html")
    assert html.attributes["lang"] == "en"


def test_ids_are_unique_and_every_reference_has_its_target(page: Element) -> None:
    ids = [one.attributes["id"] for one in page.all() if "id" in one.attributes]
    assert len(set(ids)) == len(ids)
    for one in page.all():
        for name, value in one.attributes.items():
            if name == "href":
                assert value is not None
                assert value.startswith("#")
                assert value[1:] in ids
            if name in {"aria-labelledby", "for"}:
                assert value in ids
            for target in re.findall(r"url\(#([^)]+)\)", value or ""):
                assert target in ids
    (style,) = page.all("style")
    assert set(re.findall(r"url\(#([^)]+)\)", style.text)) <= set(ids)


def test_every_section_is_in_the_contents(page: Element) -> None:
    (nav,) = page.all("nav")
    linked = [one.attributes["href"] for one in nav.all("a")]
    sections = [f"#{one.attributes['id']}" for one in page.all("section")]
    assert linked == sections
    assert len(sections) == 14
    skip = page.all("a")[0]
    assert skip.attributes["href"] == "#content"


def test_the_policy_allows_this_style_and_script_and_nothing_else(page: Element) -> None:
    (policy,) = [
        one.attributes["content"] or ""
        for one in page.all("meta")
        if one.attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == "data:"
    assert rules["base-uri"] == rules["form-action"] == "'none'"
    for name in ("style", "script"):
        (element,) = page.all(name)
        digest = base64.b64encode(hashlib.sha256(element.text.encode()).digest()).decode()
        assert rules[f"{name}-src"] == f"'sha256-{digest}'"
    assert not [
        (one.tag, name)
        for one in page.all()
        for name in one.attributes
        if name == "style" or name.startswith("on") or name in {"src", "srcset", "action"}
    ]
    assert "http:" not in policy
    assert not re.search(r"@import|https?://", page.all("style")[0].text)


def test_the_caution_is_on_top_and_on_every_printed_page(page: Element) -> None:
    assert page.all("header")[0].all("p")[0].text == CAUTION
    (style,) = page.all("style")
    assert f'content: "{CAUTION}"' in style.text
    assert page.all("footer")[0].text == CAUTION


def test_every_step_has_its_place_on_the_map(page: Element) -> None:
    ways = [one for one in page.all("article") if one.attributes.get("class") == "way"]
    expected = ways_of(small_material().planned)
    assert len(ways) == len(expected) == 6
    for way, told in zip(ways, expected, strict=True):
        assert told.trip.route is not None
        steps = steps_with_places(told.trip.route)
        buttons = way.all("button")
        assert [one.attributes["data-step"] for one in buttons] == [
            str(number) for number in range(1, len(steps) + 1)
        ]
        for button, step in zip(buttons, steps, strict=True):
            assert squeezed(button.text).endswith(squeezed(step.text))
        places = [one for one in way.all("g") if "data-step" in one.attributes]
        assert [one.attributes["data-step"] for one in places] == [
            one.attributes["data-step"] for one in reversed(buttons)
        ]
        # In both views, and the places of all steps together are the whole route.
        assert all(len(one.all("circle")) == 2 for one in places)
        assert steps[0].first_grip == 0
        assert steps[-1].last_grip == len(told.trip.route.grips) - 1
        assert all(a.last_grip == b.first_grip for a, b in pairwise(steps))


def test_tables_say_what_the_answer_says(page: Element) -> None:
    answer = small_material().planned.answer
    rows = page.by_id("run-sheet").all("tr")[1:]
    assert len(rows) == len(answer.run_sheet)
    for row, told in zip(rows, answer.run_sheet, strict=True):
        assert squeezed(told.text) in squeezed(row.text)
        assert row.all("th")[0].text.endswith("*") == told.critical
    ledger = page.by_id("ledger").all("table")
    assert len(ledger[0].all("tr")) - 1 == len(answer.ledger)
    assert len(ledger[1].all("tr")) - 1 == len(answer.tethers)
    for one in answer.inputs:
        assert one.sha256 in page.by_id("inputs").text
    for one in answer.findings:
        assert squeezed(one.message) in squeezed(page.by_id("findings").text)


def test_the_longest_time_home_is_in_the_summary(page: Element) -> None:
    shown = squeezed(page.by_id("summary").text)
    answer = small_material().planned.answer
    assert answer.home
    for curve in answer.home:
        assert curve.worst is not None
        assert curve.worst.home_s is not None
        row = f"{curve.person}alone{math.ceil(curve.worst.home_s)}{curve.limit_s:.0f}"
        assert row in shown.replace(" ", "")


def test_every_limit_is_listed_with_its_source_and_placeholders_are_called_so(
    page: Element,
) -> None:
    rows = {row.all("th")[0].text: row.all("td") for row in page.by_id("limits").all("tr")[1:]}
    for name in Limits.model_fields:
        source = limit_source(name)
        assert rows[name][3].text == source
        assert (rows[name][2].text == "placeholder") == is_placeholder(source)
    assert rows["kick_distance_m"][2].text == "published"
    assert rows["reach_m"][2].text == "placeholder"


def test_what_was_not_asked_for_is_said_on_top_and_in_its_place() -> None:
    material = material_of(EXAMPLES / "small" / "outing.toml", checked=False)
    page = parsed(review_pack(material))
    assert "NOT CHECKED: the site table and closures" in squeezed(page.by_id("summary").text)
    for anchor in ("sites", "closures"):
        assert "NOT CHECKED" in page.by_id(anchor).text
    assert "was not asked for" in page.by_id("basis").text


def test_closures_of_the_small_example_are_those_by_hand(page: Element) -> None:
    # By hand, from examples/small: hatch, H01 and H02 lie in one line, and no other handrail is
    # within reach (24 in) of the hatch but H01, 10 in away. So without H01 there is no way at all.
    # From H02 on there are two ways to W1: H03 and H04 along the zenith, or round the ring (H07
    # to H09, H13 to H15) and along the nadir; without any of H02, H03, H04 it is the other one.
    # W1 lies on H05. To W3 the hands go H01, H07, H08, H09 down the ring and then H11, from
    # which alone socket SK2 is in reach (H10 ends 42 in, H12 begins 42 in from it); without one
    # of the ring's they come round from the other side. The bag of EV1 is parked on H01 itself.
    found = {}
    for shown in page.by_id("closures").all("table"):
        person = shown.all("caption")[0].text.partition(":")[0]
        for row in shown.all("tbody")[0].all("tr"):
            cells = [squeezed(one.text) for one in row.all("td")]
            found[person, row.all("th")[0].text] = (cells[1], cells[3], "bad" in row.classes)
            assert not cells[2], "all within 30 min of the hatch"
    assert found == {
        ("EV1", "H01"): ("W3, H01 (is on it)", "0", True),
        ("EV1", "H11"): ("W3", "0", True),
        ("EV1", "H07"): ("", "1", False),
        ("EV1", "H08"): ("", "1", False),
        ("EV1", "H09"): ("", "1", False),
        ("EV2", "H01"): ("W1", "0", True),
        ("EV2", "H05"): ("W1 (is on it)", "0", True),
        ("EV2", "H02"): ("", "1", False),
        ("EV2", "H03"): ("", "1", False),
        ("EV2", "H04"): ("", "1", False),
    }


def test_the_map_of_closures_is_there_for_each_person(page: Element) -> None:
    drawn = page.by_id("closures").all("svg")
    assert [one.attributes["aria-label"] for one in drawn] == [
        f"Map of closures for {person}. The table above says the same in words."
        for person in ("EV1", "EV2")
    ]
    for one in drawn:
        assert "NO SAFE WAY left" in one.text
        assert CAUTION in squeezed(one.text)


def test_sites_are_judged_with_their_foot_restraints(page: Element) -> None:
    rows = {
        row.all("th")[0].text.split()[0]: {
            one.attributes["data-head"]: one.text for one in row.all("td")
        }
        for row in page.by_id("sites").all("tr")
        if row.all("td")
    }
    # W1 says that it is done without; W3 is in a socket and its valve is a target for the hands.
    assert rows["W1"]["foot restraint"] == "none planned"
    asked = {one.worksite: one for each in small_material().sites or () for one in each.rows}
    assert rows["W3"]["foot restraint"] == asked["W3"].restraint != "not checked"
    text = squeezed(page.by_id("sites").text)
    assert "not checked" not in text
    assert "NOT CHECKED" not in text
    material = small_material()
    assert material.sites
    (sites,) = [one for one in material.sites if "W1" in {row.worksite for row in one.rows}]
    open_rows = tuple(
        replace(row, restraint="not asked") if row.worksite == "W1" else row for row in sites.rows
    )
    opened = replace(material, sites=(replace(sites, rows=open_rows),))
    said = squeezed(sites_section(opened).body)
    assert f"{sites.person}</bdi>: foot restraint of 1 (W1): on a handrail" in said
    assert unsafe_sites(opened) == unsafe_sites(material)
    assert "foot restraints of W1." in squeezed(credibility_section(opened).body)


def test_what_stands_after_a_handrail_is_explained(page: Element) -> None:
    assert "In H1@0.250 the number is metres along the handrail" in page.by_id("ways").text


def test_the_site_table_warns_of_a_payload_that_may_drift(page: Element) -> None:
    (row,) = [
        {one.attributes["data-head"]: squeezed(one.text) for one in row.all("td")}
        for row in page.by_id("sites").all("tr")
        if row.all("td") and row.all("th")[0].text.startswith("W1 ")
    ]
    assert row["equipment tether"] == "ok, one line"
    assert "tied by one line, so the payload can swing and drift" in row["remarks"]
    assert "line spare [m]" in row
    assert "Line spare = line left above the reserve" in page.by_id("sites").text


def test_the_summary_counts_the_findings_of_every_weight(page: Element) -> None:
    weights = [one.severity for one in small_material().planned.answer.findings]
    blocks, warns, notes = (weights.count(one) for one in ("blocks", "warns", "notes"))
    assert f"{blocks} block, {warns} warn, {notes} note" in squeezed(page.by_id("summary").text)


def test_headings_for_decisions_are_there_and_say_that_nothing_was_validated(
    page: Element,
) -> None:
    basis = page.by_id("basis")
    heads = [one.text for one in basis.all("h3")]
    # NASA-HDBK-7009A (2019-05-08), section 5.5.4.1 for 8, 11, 13 to 18; table 13 for 24 and 30;
    # table 15 for 32 to 39; table 24 names the eight factors of NASA-STD-7009A, appendix E.
    for name in (
        "Intended use and use limits [M&S 8 (2), 13, 14]",
        "Assumptions [M&S 11]",
        "Not checked [M&S 32, caveats]",
        "Data pedigree [factor]",
        "Input pedigree [factor; M&S 24]",
        "Verification evidence [factor; M&S 16]",
        "Validation evidence [factor; M&S 18]",
        "Uncertainty of the results [factor; M&S 33, 34]",
        "Robustness of the results [factor; M&S 30]",
        "Use history [factor]",
        "Left to the programme [M&S 6, 36, 37, 39]",
    ):
        assert name in heads
    assert "No answer has been compared" in basis.text


def test_input_pedigree_counts_what_an_inspection_finds(tmp_path: Path) -> None:
    text = parsed(pack_of()).by_id("basis").text
    assert "Doubtful in the data of the structure: 0 block, 0 warn, 0 note" in text
    shutil.copytree(EXAMPLES / "small", tmp_path, dirs_exist_ok=True)
    small = tmp_path / "small.toml"
    small.write_text(small.read_text().replace("rating_n = 3200.0", "rating_n = 900.0"))
    weak = review_pack(material_of(tmp_path / "outing.toml", checked=False))
    text = parsed(weak).by_id("basis").text
    assert "Doubtful in the data of the structure: 1 block, 0 warn, 0 note" in text
    assert "Blocks in inspection: tether point TP1 is rated 900 N" in text


def test_the_same_material_gives_the_same_bytes() -> None:
    again = material_of(EXAMPLES / "small" / "outing.toml")
    assert review_pack(again) == pack_of()


def assert_bad(text: str) -> Element:
    """Nothing in the page says that all is well."""
    page = parsed(text)
    assert not [one for one in page.all() if "good" in one.classes]
    assert "Planned and clean" not in text
    assert [one for one in page.by_id("summary").all("p") if one.classes == ["verdict", "bad"]]
    return page


def test_a_plan_without_ways_never_looks_well() -> None:
    material = material_of(EXAMPLES / "small" / "outing.toml", closed=("H01",))
    page = assert_bad(review_pack(material))
    assert "NO WAY" in page.by_id("ways").text
    assert "NOT CLEAN" in page.by_id("summary").text
    assert "NOT SAFE or not known at W1, W3" in squeezed(page.by_id("summary").text)


def test_what_is_to_be_watched_stands_by_the_verdict(page: Element) -> None:
    answer = small_material().planned.answer
    summary = page.by_id("summary")
    (verdict,) = [one for one in summary.all("p") if "verdict" in one.classes]
    assert verdict.classes == ["verdict", "watch"]
    assert "2 things to WATCH: " in squeezed(verdict.text)
    assert "clean" not in verdict.text
    items = [squeezed(one.text) for one in summary.all("li")]
    assert items == [squeezed(one.message) for one in answer.watched]


def test_a_worksite_that_is_not_safe_spoils_a_clean_plan() -> None:
    material = small_material()
    assert material.planned.answer.clean
    assert material.sites is not None
    first = material.sites[0]
    worse = replace(first.rows[0], restraint="no setting")
    sites = (replace(first, rows=(worse, *first.rows[1:])), *material.sites[1:])
    page = assert_bad(review_pack(replace(material, sites=sites)))
    assert f"NOT SAFE or not known at {worse.worksite}" in squeezed(page.by_id("summary").text)


def test_a_plan_of_next_to_nothing_still_is_a_page(tmp_path: Path) -> None:
    plan = tmp_path / "nothing.toml"
    structure = EXAMPLES / "small" / "small.toml"
    plan.write_text(
        'schema_version = 1\nlength_unit = "m"\nname = "Nothing"\n'
        f'structure = "{structure}"\n[[people]]\nid = "EV1"\nstart = "hatch"\n'
        '[[acts]]\nid = "call"\nwho = ["ground"]\ndoes = "action"\nminutes = 1\n'
    )
    page = parsed(review_pack(material_of(plan)))
    assert "Nobody goes anywhere in this plan." in page.by_id("ways").text
    assert "Nobody works at a worksite in this plan." in page.by_id("sites").text
