"""Names made to be misread: the review pack shows them as text, wherever they stand."""

import itertools
import json
import re
from dataclasses import replace
from pathlib import Path

from routing.show.pack.markup import said, tag
from routing.show.pack.material import PackMaterial
from routing.show.pack.page import review_pack
from tests.routing.show.pack_ground import (
    EXAMPLES,
    material_of,
    parsed,
    small_material,
)

NAMES = (
    '<b onclick="alert(1)">&amp;</b></svg><script>alert(1)</script>',
    "]]>--></noscript><img src=x onerror=alert(1)>",
    "\u202eevil\u2066\u05d0\u05d1 \u0627\u0628",
    "a\u0300\u0301\u0302\u0303\u0304\u0305" * 40,
    "x" * 2000,  # the longest that is allowed
    "\u0001\u001b[31mred\u007f\ufffe\ufeff",
    "${7*7} {{7*7}} %s %(x)s \\\\ $E=mc^2$",
    "=1+1",
)


def test_hostile_names_in_the_files_are_text_everywhere(tmp_path: Path) -> None:
    small = EXAMPLES / "small"
    used = itertools.cycle(NAMES)

    def renamed(text: str) -> str:
        return re.sub(
            r'^(name|source|date|title) = ".*"',
            lambda m: f"{m[1]} = {json.dumps(next(used))}",
            text,
            flags=re.MULTILINE,
        )

    structure = renamed((small / "small.toml").read_text(encoding="utf-8"))
    (tmp_path / "small.toml").write_text(structure, encoding="utf-8")
    head, *lines = (small / "handrails.csv").read_text(encoding="utf-8").splitlines()
    rows = [head, *(re.sub('^(H[0-9]+),("[^"]*"|[^,]*),', _evil_row, line) for line in lines)]
    (tmp_path / "handrails.csv").write_text("\n".join(rows), encoding="utf-8")
    plan = renamed((small / "outing.toml").read_text(encoding="utf-8"))
    (tmp_path / "outing.toml").write_text(plan, encoding="utf-8")
    text = review_pack(material_of(tmp_path / "outing.toml"))
    page = parsed(text)
    assert len(page.all("script")) == 1
    assert {one.tag for one in page.all()}.isdisjoint({"img", "b", "iframe", "object", "a:href"})
    for one in page.all():
        assert not [name for name in one.attributes if name.startswith("on")]
    assert "alert(1)" in page.text
    for character in "\u202e\u2066\u0001\u001b\u007f\ufeff":
        assert character not in text


def _evil_row(found: "re.Match[str]") -> str:
    name = NAMES[int(found[1][1:]) % 3].replace('"', '""')
    return f'{found[1]},"{name}",'


EVIL = "</script><script>alert(1)</script><img src=x onerror=alert(2)> \"q\" 'r' &amp; \u202eevil"
RIGHT_TO_LEFT = "\u05d0\u05d1\u05d2 \u0627\u0628\u062a"


def hostile(material: PackMaterial) -> PackMaterial:
    """Put hostile names wherever the answer takes a free text."""
    planned = material.planned
    answer = planned.answer
    name = f"{EVIL} {RIGHT_TO_LEFT} " + "long" * 500
    outing = planned.outing.model_copy(update={"name": name, "source": name, "revision": EVIL})
    changed = replace(
        answer,
        outing=replace(answer.outing, name=name, revision=EVIL),
        structure=replace(answer.structure, name=name, date=EVIL),
        run_sheet=tuple(replace(row, text=name, remarks=(name,)) for row in answer.run_sheet),
        ledger=tuple(replace(one, item=name, how=name) for one in answer.ledger),
        findings=tuple(replace(one, message=name, remedy=name) for one in answer.findings),
        milestones=tuple(replace(one, name=name) for one in answer.milestones),
    )
    return replace(material, planned=replace(planned, outing=outing, answer=changed))


def test_hostile_names_are_shown_as_text() -> None:
    text = review_pack(hostile(small_material()))
    page = parsed(text)
    assert len(page.all("script")) == 1
    assert not page.all("img")
    assert "\u202e" not in text
    cells = [one for one in page.by_id("run-sheet").all("bdi") if "alert(1)" in one.text]
    assert cells
    assert "</script><script>alert(1)</script><img src=x onerror=alert(2)>" in cells[0].text
    # What runs from right to left stands in an element that keeps its direction to itself.
    for one in page.all("main")[0].all():
        own = "".join(child for child in one.children if isinstance(child, str))
        if re.search("[\u0590-\u06ff]", own):
            assert one.tag == "bdi" or one.is_in("svg"), one


def test_tags_escape_attributes_and_texts() -> None:
    assert (
        tag("p", '<&">', title='<&">') == '<p title="&lt;&amp;&quot;&gt;">&lt;&amp;&quot;&gt;</p>'
    )
    assert tag("p", "a ", said("b"), " c") == "<p>a <bdi>b</bdi> c</p>"
