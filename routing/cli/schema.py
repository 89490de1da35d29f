"""`gripway schema NAME`: the JSON Schema of a document or an answer."""

import json
import sys
from enum import StrEnum
from typing import Annotated, Any

import typer

__all__ = ["SchemaName", "command", "schema_of"]


class SchemaName(StrEnum):
    """What there is a schema of."""

    STRUCTURE = "structure"
    LIMITS = "limits"
    INSPECT = "inspect"
    ROUTE = "route"
    REACH = "reach"


def command(
    name: Annotated[
        SchemaName,
        typer.Argument(metavar="NAME", help="structure, limits, inspect, route or reach."),
    ],
) -> None:
    """Print the JSON Schema (2020-12) of a document that is read or an answer that is given."""
    text = json.dumps(schema_of(name), indent=2, ensure_ascii=False)
    sys.stdout.write(text + "\n")


def schema_of(name: SchemaName) -> dict[str, Any]:
    """Return the JSON Schema of a document or an answer."""
    from routing.cli import answers
    from routing.limits import Limits
    from routing.paths.route import route_schema
    from structures.files.schema import json_schema

    match name:
        case SchemaName.STRUCTURE:
            return json_schema()
        case SchemaName.LIMITS:
            return Limits.model_json_schema(by_alias=True)
        case SchemaName.INSPECT:
            return answers.InspectAnswer.model_json_schema(mode="serialization")
        case SchemaName.ROUTE:
            return route_schema()
        case SchemaName.REACH:
            return answers.ReachAnswer.model_json_schema(mode="serialization")
