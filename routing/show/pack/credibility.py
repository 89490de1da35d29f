"""What the answer rests on: limits with their sources, inputs, assumptions, what was not checked.

The headings follow what NASA-STD-7009A (with Change 1, 2016) asks to be reported
of a model that decisions rest on. They are from memory: the standard's text was
not at hand, so no section numbers are given.
"""

from collections.abc import Sequence

from routing.limits import DEFAULT_LIMITS, Limits, limit_source
from routing.outings.records import Blocks, Outing, OutingLimits, block_source
from routing.show.pack.markup import Child, Html, joined, said, tag
from routing.show.pack.material import PackMaterial
from routing.show.pack.parts import Section, Table, table
from routing.show.pack.statements import (
    ASSUMED,
    HISTORY,
    NOT_CHECKED,
    UNCERTAIN,
    USE_LIMITS,
    VALIDATED,
    VERIFIED,
)

__all__ = ["credibility_section", "inputs_section", "is_placeholder", "limits_section"]

_MARKS = ("own planning assumption", "from memory", "unconfirmed", "no source")


def is_placeholder(source: str) -> bool:
    """Tell whether a source says itself that it is none to rely on."""
    return any(mark in source for mark in _MARKS)


def limits_section(material: PackMaterial) -> Section:
    """Return all limits in force, with where each is from."""
    rows = [*_limit_rows(material.limits), *_clock_rows(material.planned.outing)]
    placeholders = sum("placeholder" in row[3] for row in rows)
    return Section(
        anchor="limits",
        title="Limits and their sources",
        body=joined(
            [
                tag(
                    "p",
                    tag("strong", f"{placeholders} of {len(rows)} limits are placeholders: "),
                    "their source is this tool's own assumption or a memory of a text. They must "
                    "be replaced by the programme's own before an answer means anything.",
                ),
                table(
                    Table(
                        caption="Limits in force",
                        heads=("limit", "value", "default", "standing", "source"),
                        numbers=frozenset({1, 2}),
                        rows=[(*row[:4], said(row[4])) for row in rows],
                        row_classes=["changed" if row[3] == "changed" else "" for row in rows],
                    )
                ),
            ],
            "\n",
        ),
    )


_Row = tuple[str, str, str, str, str]


def _limit_rows(limits: Limits) -> list[_Row]:
    return [
        _row(name, getattr(limits, name), getattr(DEFAULT_LIMITS, name), limit_source(name))
        for name in Limits.model_fields
    ]


def _clock_rows(outing: Outing) -> list[_Row]:
    return [
        _row(name, getattr(record, name), kind.model_fields[name].default, block_source(kind, name))
        for kind, record in ((Blocks, outing.blocks), (OutingLimits, outing.outing_limits))
        for name in kind.model_fields
    ]


def _row(name: str, value: float, default: float, source: str) -> _Row:
    if value != default:
        return (name, f"{value:g}", f"{default:g}", "changed", "given with this plan")
    standing = "placeholder" if is_placeholder(source) else "published"
    return (name, f"{value:g}", f"{default:g}", standing, source)


def inputs_section(material: PackMaterial) -> Section:
    """Return what was read, each file with its digest."""
    planned = material.planned
    structure, answer = planned.ground.structure, planned.answer
    facts: list[tuple[str, Child]] = [
        ("plan", joined([said(answer.outing.name), ", revision ", said(answer.outing.revision)])),
        ("structure", joined([said(structure.name), ", revision ", said(structure.revision)])),
        ("data of", said(structure.date or "not given")),
        ("Gripway", answer.gripway),
    ]
    return Section(
        anchor="inputs",
        title="Inputs and digests",
        body=joined(
            [
                tag("dl", *(tag("div", tag("dt", a), tag("dd", b)) for a, b in facts)),
                table(
                    Table(
                        caption="Files that were read",
                        heads=("file", "SHA-256"),
                        rows=[(said(one.name), tag("code", one.sha256)) for one in answer.inputs],
                        empty="No files were read.",
                    )
                ),
            ],
            "\n",
        ),
    )


def credibility_section(material: PackMaterial) -> Section:
    """Return what was assumed, what was not checked, and what speaks for the answer."""
    parts: list[Child] = [
        tag(
            "p",
            "The headings follow what NASA-STD-7009A with Change 1 (2016-12-07) asks to be "
            "reported of a model that decisions rest on. The names of the headings are from memory "
            "and section numbers were not confirmed, so none are given.",
        )
    ]
    for title, texts in (
        ("Intended use and use limits", USE_LIMITS),
        ("Assumptions", ASSUMED),
        ("Not checked", (*_skipped(material), *NOT_CHECKED)),
        ("Input pedigree", _pedigree(material)),
        ("Verification evidence", VERIFIED),
        ("Validation evidence", VALIDATED),
        ("Uncertainty of the results", UNCERTAIN),
        ("Robustness of the results", _robust(material)),
        ("Use history", HISTORY),
    ):
        parts += [tag("h3", title), _list(texts)]
    parts += [tag("h3", "Review"), _signatures()]
    return Section(
        anchor="basis",
        title="What was assumed, what was not checked",
        body=joined(parts, "\n"),
    )


def _list(texts: Sequence[str | Html]) -> Html:
    return tag("ul", *(tag("li", text, data_find=True) for text in texts))


def _skipped(material: PackMaterial) -> tuple[str, ...]:
    found = []
    if material.sites is None:
        found.append("The site table of the worksites was not asked for.")
    else:
        unchecked = sorted(
            {word for one in material.sites for row in one.rows for word in row.unchecked}
        )
        found += [f"In the site table: {word}." for word in unchecked]
    if material.closures is None:
        found.append("What the loss of single handrails costs was not asked for.")
    return tuple(found)


def _pedigree(material: PackMaterial) -> tuple[str | Html, ...]:
    structure, outing = material.planned.ground.structure, material.planned.outing
    elements = [element for _, element in structure.elements()]
    sourced = sum(bool(getattr(element, "source", "")) for element in elements)
    source = getattr(structure, "source", "")
    return (
        joined(["Source of the structure: ", said(source or "not given"), "."]),
        joined(["Source of the plan: ", said(outing.source or "not given"), "."]),
        f"{sourced} of {len(elements)} elements of the structure name a source of their own.",
    )


def _robust(material: PackMaterial) -> tuple[str, ...]:
    found = ["Worst margins are in the summary; each way has its own."]
    if material.closures is not None:
        found.append("What the loss of any one handrail in use costs is under closures.")
    return tuple(found)


def _signatures() -> Html:
    rows = ("prepared by", "checked by", "approved by")
    return tag(
        "dl",
        *(tag("div", tag("dt", word), tag("dd", "name, date, signature:")) for word in rows),
        class_="signatures",
    )
