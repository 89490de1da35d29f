"""How answers are printed: text for people, JSON for machines, the caution on both."""

import sys
from pathlib import Path

from routing.caution import CAUTION
from routing.cli.question import Question
from routing.limits import changed_limits, changed_texts
from routing.paths.answers.results import Result
from routing.paths.answers.step_text import one_line
from routing.paths.tethers.kit import kit_text
from routing.version import gripway_version
from structures.versions import revision_text

__all__ = [
    "print_caution",
    "print_data",
    "print_heading",
    "print_json",
    "print_lines",
    "print_situation",
    "written",
]


def print_json(answer: Result) -> None:
    """Print an answer as JSON on stdout; NaN would be a fault, so it is refused.

    Where the terminal does not take UTF-8, other letters are written as escapes.
    """
    import json

    content = answer.to_document()
    wide = (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"
    text = json.dumps(content, indent=2, ensure_ascii=not wide, allow_nan=False)
    sys.stdout.write(text + "\n")


def print_lines(*lines: str) -> None:
    """Print each text on a line of its own: nothing in a name steers the terminal."""
    for line in lines:
        kept = len(line) - len(line.lstrip(" "))
        sys.stdout.write(" " * kept + one_line(line) + "\n")


def print_heading(question: Question) -> None:
    """Print what was asked of which data, in one to three lines."""
    print_data(question)
    print_situation(question)


def print_data(question: Question, label: str = "") -> None:
    """Print which revision of which data an answer is about."""
    structure = question.structure
    dated = f", {structure.date}" if structure.date else ""
    document, *lists = question.inputs
    # Handrails stand in a list's file more often than in the document.
    with_lists = "".join(f"; {one.name} {one.sha256[:12]}" for one in lists)
    print_lines(
        f"{label}{structure.name}, {revision_text(structure.revision)}{dated} "
        f"(sha256 {document.sha256[:12]}{with_lists}), Gripway {gripway_version()}"
    )


def print_situation(question: Question) -> None:
    """Print who moves how under which conditions and limits, where that was chosen."""
    situation = question.situation
    parts = []
    if situation.person is not None:
        parts.append(f"person {situation.person.name or situation.person.id}")
    if situation.carry is not None:
        parts.append(f"carrying {situation.carry.name or situation.carry.id}")
    if situation.when:
        parts.append(f"conditions {', '.join(situation.when)}")
    if situation.closed:
        parts.append(f"closed {', '.join(situation.closed)}")
    if question.protocol is not None:
        kit = "" if question.kit is None else f", {kit_text(question.kit.reels_m)}"
        parts.append(f"protocol {question.protocol}{kit}")
    if question.kits:
        parts.append(f"kits {', '.join(one.name for one in question.kits)}")
    if parts:
        print_lines("; ".join(parts))
    changed = changed_limits(situation.limits)
    if changed:
        limits = changed_texts((name, *both) for name, both in changed.items())
        print_lines(f"limits changed: {'; '.join(limits)}")


def print_caution() -> None:
    """Print the caution; no answer goes out without it."""
    sys.stdout.write(f"\n{CAUTION}\n")


def written(what: str, path: Path) -> str:
    """Return the line that says where something was written."""
    return f"{what} is in {path}"
