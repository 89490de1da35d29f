"""What the answer rests on: limits with their sources, inputs, assumptions, what was not checked.

The headings follow what NASA-STD-7009A (with Change 1, 2016-12-07) asks to be documented
and reported of a model that decisions rest on. Its own text was not at hand: the numbers of
its requirements are those that NASA-HDBK-7009A (2019-05-08), its implementation guide, gives
in section 5.5.4.1 (8, 11, 13, 14, 16, 18) and in tables 9, 13, 14 and 15 (the others), the
names of the credibility factors those of its table 24.
"""

from collections.abc import Iterator, Sequence

from routing.limits import DEFAULT_LIMITS, Limits, limit_source
from routing.outings.plan_file.records import Blocks, Outing, OutingLimits, block_source
from routing.show.pack.markup import Child, Html, joined, said, tag
from routing.show.pack.material import PackMaterial
from routing.show.pack.parts import Section, Table, table
from routing.show.pack.statements import (
    ASSUMED,
    HISTORY,
    LEFT_TO_PROGRAMME,
    NOT_CHECKED,
    UNCERTAIN,
    USE_LIMITS,
    VALIDATED,
    VERIFIED,
)
from structures.versions import revision_text

__all__ = ["credibility_section", "inputs_section", "is_placeholder", "limits_section"]

_MARKS = ("own planning assumption", "from memory", "unconfirmed", "no source")


def is_placeholder(source: str) -> bool:
    """Tell whether a source says itself that it is none to rely on."""
    return any(mark in source for mark in _MARKS)


def limits_section(material: PackMaterial) -> Section:
    """Return all limits in force, with where each is from."""
    rows = _rows(material)
    return Section(
        anchor="limits",
        detail=True,
        title="Limits and their sources",
        body=joined(
            [
                tag(
                    "p",
                    tag("strong", f"{_placeholders(rows)}: "),
                    "their source is this tool's own assumption or a memory of a text. They must "
                    "be replaced by the programme's own before an answer means anything.",
                ),
                table(
                    Table(
                        caption="Limits in force",
                        heads=("limit", "value", "default", "standing", "source"),
                        numbers=frozenset({1, 2}),
                        rows=[(*row[:4], said(row[4])) for row in rows],
                        wordy=True,
                        row_classes=["changed" if row[3] == "changed" else "" for row in rows],
                    )
                ),
            ],
            "\n",
        ),
    )


_Row = tuple[str, str, str, str, str]


def _rows(material: PackMaterial) -> list[_Row]:
    return [*_limit_rows(material.limits), *_clock_rows(material.planned.outing)]


def _placeholders(rows: list[_Row]) -> str:
    count = sum(row[3] == "placeholder" for row in rows)
    return (
        f"{count} of {len(rows)} limits {'is a placeholder' if count == 1 else 'are placeholders'}"
    )


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
        (
            "plan",
            joined([said(answer.outing.name), ", ", said(revision_text(answer.outing.revision))]),
        ),
        (
            "structure",
            joined([said(structure.name), ", ", said(revision_text(structure.revision))]),
        ),
        ("date of the data", said(structure.date or "not given")),
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
            "documented and reported of a model that decisions rest on. The numbers in brackets "
            "are its requirements as NASA-HDBK-7009A (2019-05-08) lists them in section 5.5.4 and "
            "in tables 9, 13, 14 and 15; factors of credibility (its section 4.3.6, appendix E) "
            "are named as in table 24 of that handbook. This list claims no compliance.",
        )
    ]
    for title, asked, texts in (
        ("Intended use and use limits", "M&S 8 (2), 13, 14", USE_LIMITS),
        ("Assumptions", "M&S 11", ASSUMED),
        ("Not checked", "M&S 32, caveats", (*_skipped(material), *NOT_CHECKED)),
        ("Data pedigree", "factor", _data(material)),
        ("Input pedigree", "factor; M&S 24", _pedigree(material)),
        ("Verification evidence", "factor; M&S 16", VERIFIED),
        ("Validation evidence", "factor; M&S 18", VALIDATED),
        ("Uncertainty of the results", "factor; M&S 33, 34", UNCERTAIN),
        ("Robustness of the results", "factor; M&S 30", _robust(material)),
        ("Use history", "factor", HISTORY),
        ("Left to the programme", "M&S 6, 36, 37, 39", LEFT_TO_PROGRAMME),
    ):
        parts += [tag("h3", title, " ", tag("small", f"[{asked}]")), _list(texts)]
    parts += [tag("h3", "Review"), _signatures()]
    return Section(
        anchor="basis",
        title="What was assumed, what was not checked",
        body=joined(parts, "\n"),
    )


def _list(texts: Sequence[str | Html]) -> Html:
    return tag("ul", *(tag("li", text, data_find=True) for text in texts))


def _skipped(material: PackMaterial) -> tuple[str | Html, ...]:
    found: list[Html | str] = [
        said(_ended(one.message))
        for one in material.planned.answer.findings
        if one.code == "not-checked"
    ]
    if material.sites is None:
        found.append("The site table of the worksites was not asked for.")
    else:
        rows = [row for one in material.sites for row in one.rows]
        for word, what in (("home", "the time home"), ("restraint", "foot restraints")):
            sites = sorted({row.worksite for row in rows if word in row.unchecked})
            if sites:
                found.append(f"In the site table: {what} of {', '.join(sites)}.")
    if material.closures is None:
        found.append("What the loss of single handrails costs was not asked for.")
    return tuple(found)


def _data(material: PackMaterial) -> tuple[str, ...]:
    return (f"{_placeholders(_rows(material))}; each one's source is under limits.",)


def _pedigree(material: PackMaterial) -> tuple[str | Html, ...]:
    structure, outing = material.planned.ground.structure, material.planned.outing
    elements = [element for _, element in structure.elements()]
    sourced = sum(bool(getattr(element, "source", "")) for element in elements)
    source = getattr(structure, "source", "")
    return (
        joined(["Source of the structure: ", said(_ended(source or "not given"))]),
        joined(["Source of the plan: ", said(_ended(outing.source or "not given"))]),
        f"{sourced} of {len(elements)} elements of the structure name a source of their own.",
        *_inspected(material),
    )


def _inspected(material: PackMaterial) -> Iterator[str | Html]:
    """Yield how much of the structure is doubtful, by weight, and what blocks."""
    from routing.graph.reach_findings import inspect_reach
    from structures.findings import SEVERITIES
    from structures.inspection import inspect_structure

    ground, person = material.planned.ground, material.planned.outing.people[0].id
    in_data = inspect_structure(
        ground.structure,
        glove_grip_m=material.limits.glove_grip_m,
        tether_point_rating_n=material.limits.tether_point_rating_n,
        kick_distance_m=material.limits.kick_distance_m,
    )
    in_reach = inspect_reach(ground.graph(person, None, ()))
    for words, found in (
        ("Doubtful in the data of the structure", in_data),
        (f"Doubtful in what the hands of {person} can reach, unloaded", in_reach),
    ):
        weights = [finding.severity for finding in found]
        counts = ", ".join(
            f"{weights.count(weight)} {word}"
            for weight, word in zip(SEVERITIES, ("block", "warn", "note"), strict=True)
        )
        yield joined([said(f"{words}: {counts}; "), tag("code", "gripway inspect"), " lists them."])
        yield from (
            joined(["Blocks in inspection: ", said(_ended(finding.message))])
            for finding in found
            if finding.severity == "blocks"
        )


def _ended(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


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
