"""The page itself: policy, style, caution, way through it, sections, script."""

from base64 import b64encode
from hashlib import sha256
from importlib.resources import files
from typing import Final

from routing.caution import CAUTION
from routing.show.pack.books import ledger_section, run_sheet_section
from routing.show.pack.credibility import credibility_section, inputs_section, limits_section
from routing.show.pack.drawings import Looks
from routing.show.pack.lines import lines_section
from routing.show.pack.losses import losses_section
from routing.show.pack.markup import Html, joined, said, tag
from routing.show.pack.material import PackMaterial
from routing.show.pack.parts import Section, section
from routing.show.pack.sites import closures_section, sites_section
from routing.show.pack.summary import findings_section, summary_section, timeline_section
from routing.show.pack.times import times_section
from routing.show.pack.ways import ways_section
from structures.versions import date_text, revision_text

__all__ = ["review_pack"]

_HERE: Final = files("routing.show.pack")


def review_pack(material: PackMaterial) -> str:
    """Return the review pack of an outing as one HTML page.

    It needs no network and no other file. The same material gives the same text.
    """
    looks = Looks()
    sections = (
        summary_section(material),
        findings_section(material),
        times_section(material),
        losses_section(material),
        lines_section(material),
        timeline_section(material, looks),
        run_sheet_section(material),
        ways_section(material, looks),
        ledger_section(material),
        sites_section(material),
        closures_section(material, looks),
        limits_section(material),
        credibility_section(material),
        inputs_section(material),
    )
    style = _resource("review.css").replace("CAUTION-TEXT", CAUTION) + looks.css()
    script = _resource("review.js")
    answer = material.planned.answer
    title = f"Review pack: {answer.outing.name}"
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag(
            "meta", http_equiv="Content-Security-Policy", content=_policy(style, script)
        ),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="referrer", content="no-referrer"),
        tag("title", title),
        tag("style", Html(style)),
    )  # fmt: skip
    body = tag(
        "body",
        tag("a", "Skip to the content", href="#content", class_="skip"),
        _top(material),
        _contents(sections),
        tag(
            "main",
            *(section(one, number) for number, one in enumerate(sections, start=1)),
            id="content",
            tabindex="-1",
        ),
        tag("footer", tag("p", CAUTION, class_="caution")),
        tag("script", Html(script)),
    )
    return f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n"


def _resource(name: str) -> str:
    return _HERE.joinpath(name).read_text(encoding="utf-8")


def _policy(style: str, script: str) -> str:
    """Return the content security policy: nothing but this very style and script, no network."""
    return "; ".join(
        (
            "default-src 'none'",
            f"style-src '{_digest(style)}'",
            f"script-src '{_digest(script)}'",
            "img-src data:",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )


def _digest(text: str) -> str:
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode()}"


def _top(material: PackMaterial) -> Html:
    answer = material.planned.answer
    about = joined(
        [
            said(revision_text(answer.outing.revision, of="Plan")),
            " on ", said(answer.structure.name), ", ",
            said(revision_text(answer.structure.revision)), ", ",
            said(date_text(answer.structure.date)),
        ]
    )  # fmt: skip
    return tag(
        "header",
        tag("p", CAUTION, class_="caution", role="note", aria_label="Caution"),
        tag("h1", "Review pack: ", said(answer.outing.name)),
        tag("p", about),
    )


def _contents(sections: tuple[Section, ...]) -> Html:
    """Return the list of sections and the filter."""
    return tag(
        "nav",
        tag(
            "ol",
            *(
                tag(
                    "li",
                    tag("a", one.title, href=f"#{one.anchor}"),
                    class_="detail" if one.detail else f"to-{one.anchor}",
                )
                for one in sections
            ),
        ),
        tag(
            "div",
            tag("label", "Show only lines with", for_="find"),
            tag("input", id="find", type="search", autocomplete="off", spellcheck="false"),
            tag("p", id="found", role="status", aria_live="polite"),
            class_="finder",
            role="search",
        ),
        _paper(),
        aria_label="Contents",
    )


def _paper() -> Html:
    """Return the choice of what is printed: style alone acts on it, so it needs no script."""
    choices = (
        ("paper-short", "in short: verdict, findings, timeline, run sheet, what to sign"),
        ("paper-maps", "that and a map of each way"),
        ("paper-all", "everything"),
    )
    return tag(
        "fieldset",
        tag("legend", "On paper"),
        *(
            tag(
                "label",
                tag(
                    "input",
                    type="radio",
                    name="paper",
                    id=name,
                    checked=name == "paper-maps" or None,
                ),
                f" {text}",
            )
            for name, text in choices
        ),
        class_="paper",
    )
