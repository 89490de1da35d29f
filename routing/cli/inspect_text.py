"""What an inspection found, as text for people."""

from collections.abc import Iterator
from typing import Final

from routing.cli.answers import InspectAnswer
from routing.cli.tables import Column
from structures.counting import counted
from structures.findings import SEVERITIES, Finding
from structures.model import ELEMENT_LISTS, Structure

__all__ = ["FINDING_COLUMNS", "finding_cells", "inspect_lines"]

FINDING_COLUMNS: Final = (Column("severity"), Column("about"), Column("finding"))


def inspect_lines(structure: Structure, answer: InspectAnswer) -> Iterator[str]:
    """Yield what there is and how much of it is doubtful."""
    counts = ((name, len(getattr(structure, name))) for name in ELEMENT_LISTS)
    elements = ", ".join(f"{many} {_named(name, many)}" for name, many in counts if many)
    yield f"{elements}: {counted(answer.grips, 'grip')}, {counted(answer.moves, 'move')}"
    if not answer.findings:
        yield "No findings."
        return
    severities = [finding.severity for finding in answer.findings]
    shares = (_share(severities.count(one), one) for one in SEVERITIES if one in severities)
    yield f"{len(severities)} finding{'s' if len(severities) > 1 else ''}: {', '.join(shares)}"
    if answer.blocks:
        about = [
            f.elements[0] if f.elements else f.code
            for f in answer.findings
            if f.severity == "blocks"
        ]
        named = ", ".join(dict.fromkeys(about))
        yield f"BLOCKED: mend what blocks before an answer that rests on it is used: {named}."


def _share(many: int, severity: str) -> str:
    """Say how many findings do what: one warns, several warn."""
    return f"{many} {severity if many == 1 else severity.removesuffix('s')}"


def finding_cells(finding: Finding) -> tuple[str, ...]:
    """Return the cells of one finding, in the order of `FINDING_COLUMNS`."""
    return (finding.severity, ", ".join(finding.elements), finding.message)


def _named(list_name: str, many: int) -> str:
    """Return the name of a list as words, in the singular for one element."""
    words = list_name.replace("_", " ")
    if many != 1:
        return words
    return {"hatches": "hatch", "people": "person", "bodies": "body"}.get(
        words, words.removesuffix("s")
    )
