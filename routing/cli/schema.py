"""`gripway schema NAME`: the JSON Schema of a document or an answer."""

import json
import sys
from collections.abc import Mapping
from importlib import import_module
from typing import Annotated, Any, Final, Literal, NamedTuple

import typer

__all__ = ["SCHEMAS", "command", "schema_of"]


class _Source(NamedTuple):
    """Where a schema comes from; nothing is imported before it is asked for."""

    module: str
    name: str
    """A record, or a function without parameters that returns the schema."""
    mode: Literal["serialization", "validation"] = "serialization"
    """Of a record: as it is written (answers), or as it is read (documents)."""


SCHEMAS: Final[Mapping[str, _Source]] = {
    "structure": _Source("structures.files.schema", "json_schema"),
    "limits": _Source("routing.limits", "Limits", "validation"),
    "plan": _Source("routing.outings.plan_file.schema", "plan_schema"),
    "inspect": _Source("routing.cli.answers", "InspectAnswer"),
    "graph": _Source("routing.cli.written_answers", "GraphAnswer"),
    "route": _Source("routing.paths.route", "route_schema"),
    "reach": _Source("routing.cli.answers", "ReachAnswer"),
    "map": _Source("routing.cli.written_answers", "MapAnswer"),
    "both": _Source("routing.cli.both_answer", "both_schema"),
    "choices": _Source("routing.paths.choices.choices", "choices_schema"),
    "outing": _Source("routing.outings.told.results", "OutingAnswer"),
    "pack": _Source("routing.cli.pack_answer", "PackAnswer"),
    "closures": _Source("routing.cli.closures_answer", "ClosuresAnswer"),
    "pairs": _Source("routing.cli.pairs_answer", "PairsAnswer"),
    "home": _Source("routing.cli.home_answer", "HomeAnswer"),
    "people": _Source("routing.cli.people_answer", "PeopleAnswer"),
    "compare": _Source("routing.cli.compare_answer", "CompareAnswer"),
    "bags": _Source("routing.cli.bags_text", "BagsAnswer"),
    "cable": _Source("routing.cli.cable_text", "CableAnswer"),
    "tie": _Source("routing.cli.tie_text", "TieAnswer"),
    "restraint": _Source("routing.cli.restraint_text", "RestraintAnswer"),
    "sight": _Source("routing.cli.sight_text", "SightAnswer"),
}
"""What there is a schema of: documents that are read, then answers by their command."""


def command(
    name: Annotated[
        str,
        typer.Argument(metavar="NAME", help=f"One of {', '.join(SCHEMAS)}.", show_default=False),
    ],
) -> None:
    """Print the JSON Schema (2020-12) of a document that is read or an answer given."""
    if name not in SCHEMAS:
        raise typer.BadParameter(
            f"there is no schema {name!r}: give one of {', '.join(SCHEMAS)}", param_hint="NAME"
        )
    text = json.dumps(schema_of(name), indent=2, ensure_ascii=False)
    sys.stdout.write(text + "\n")


def schema_of(name: str) -> dict[str, Any]:
    """Return the JSON Schema of a document or an answer that is in the table."""
    source = SCHEMAS[name]
    found: Any = getattr(import_module(source.module), source.name)
    record: Any = found if isinstance(found, type) else None
    schema: dict[str, Any] = (
        found() if record is None else record.model_json_schema(mode=source.mode)
    )
    return schema
