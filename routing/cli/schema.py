"""`gripway schema NAME`: the JSON Schema of a document or an answer."""

import json
import sys
from collections.abc import Mapping
from importlib import import_module
from typing import Annotated, Any, Final, Literal, NamedTuple

import typer

__all__ = ["DOCUMENTS", "SCHEMAS", "command", "schema_of"]


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


DOCUMENTS: Final[Mapping[str, str]] = {
    "structure": "The outside of a station: a document that is read.",
    "limits": "The limits that replace defaults: a document that is read.",
    "plan": "The plan of an outing: a document that is read.",
}
"""What each document is; all other schemas are of the answers of commands."""


def command(
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="NAME",
            help=f"One of {', '.join(SCHEMAS)}. Not given: list what each is.",
            show_default=False,
        ),
    ] = None,
    keys: Annotated[
        bool,
        typer.Option(
            "--keys",
            help=f"Print the keys as a table to read ({', '.join(DOCUMENTS)} only).",
            show_default=False,
        ),
    ] = False,
) -> None:
    """Print the JSON Schema (2020-12) of a document that is read or an answer given."""
    if name is None:
        if keys:
            raise typer.BadParameter(
                f"--keys needs a NAME: give one of {', '.join(DOCUMENTS)}", param_hint="NAME"
            )
        _list_names()
        return
    if name not in SCHEMAS:
        raise typer.BadParameter(
            f"there is no schema {name!r}: give one of {', '.join(SCHEMAS)}", param_hint="NAME"
        )
    if keys:
        _print_keys(name)
        return
    text = json.dumps(schema_of(name), indent=2, ensure_ascii=False)
    sys.stdout.write(text + "\n")


def _list_names() -> None:
    wide = max(map(len, SCHEMAS))
    for name in SCHEMAS:
        line = DOCUMENTS.get(name, f"The answer of `gripway {name} --json`.")
        sys.stdout.write(f"{name:<{wide}}  {line}\n")


def _print_keys(name: str) -> None:
    from routing.cli.schema_keys import KEY_COLUMNS, key_rows
    from routing.cli.tables import print_table

    if name not in DOCUMENTS:
        raise typer.BadParameter(
            f"{name} is an answer: --keys is for documents, give one of {', '.join(DOCUMENTS)}",
            param_hint="NAME",
        )
    print_table(KEY_COLUMNS, key_rows(schema_of(name)))


def schema_of(name: str) -> dict[str, Any]:
    """Return the JSON Schema of a document or an answer that is in the table."""
    source = SCHEMAS[name]
    found: Any = getattr(import_module(source.module), source.name)
    if not isinstance(found, type):
        schema: dict[str, Any] = found()
        return schema
    record: Any = found
    if source.mode == "validation":
        from structures.files.schema import json_schema

        return json_schema(record)
    answer: dict[str, Any] = record.json_schema()
    return answer
