"""How answers are printed: text for people, JSON for machines, the caution on both."""

import json
import sys
from collections.abc import Sequence

from routing.caution import CAUTION
from routing.graph.situation import Situation
from routing.limits import changed_limits
from routing.paths.results import Result
from routing.paths.steps import one_line
from routing.version import gripway_version
from structures.files.reader import StructureDocument

__all__ = ["print_caution", "print_heading", "print_json", "print_table"]

_PIPED_WIDTH = 220


def print_json(answer: Result) -> None:
    """Print an answer as JSON on stdout; NaN would be a fault, so it is refused."""
    content = answer.to_document()
    text = json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)
    sys.stdout.write(text + "\n")


def print_heading(document: StructureDocument, situation: Situation | None = None) -> None:
    """Print what was asked of which data, in one or two lines."""
    structure = document.structure
    digest = document.inputs[0].sha256[:12] if document.inputs else "none"
    dated = f", {structure.date}" if structure.date else ""
    sys.stdout.write(
        f"{one_line(structure.name)}, revision {one_line(structure.revision)}{one_line(dated)} "
        f"(sha256 {digest}), Gripway {gripway_version()}\n"
    )
    if situation is None:
        return
    parts = []
    if situation.person is not None:
        parts.append(f"person {one_line(situation.person.name or situation.person.id)}")
    if situation.carry is not None:
        parts.append(f"carrying {one_line(situation.carry.name or situation.carry.id)}")
    if situation.when:
        parts.append(f"conditions {', '.join(situation.when)}")
    if situation.closed:
        parts.append(f"closed {', '.join(situation.closed)}")
    for name, (value, default) in changed_limits(situation.limits).items():
        parts.append(f"{name} {value:g} (default {default:g})")
    if parts:
        sys.stdout.write("; ".join(parts) + "\n")


def print_table(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows under column heads; numbers (heads that end in a unit) to the right."""
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for column in columns:
        numeric = column.endswith((" m", " s", " min", " n"))
        table.add_column(column, justify="right" if numeric else "left", overflow="fold")
    for row in rows:
        table.add_row(*(Text(one_line(cell)) for cell in row))
    console = Console(
        markup=False,
        highlight=False,
        emoji=False,
        width=None if sys.stdout.isatty() else _PIPED_WIDTH,
    )
    console.print(table)


def print_caution() -> None:
    """Print the caution; no answer goes out without it."""
    sys.stdout.write(f"\n{CAUTION}\n")
