"""Descriptions of the keys of documents, in a JSON Schema, from the docstrings of the fields.

A string under a field of a record says what the field means in memory, where
lengths are metres. A document has other names (``standoff``, not
``standoff_m``) and a length unit of its own, so both are translated. The
source is read when a schema is asked for, never on import.
"""

import ast
import inspect
import re
import sys
from functools import cache
from typing import Any, Final

from pydantic.fields import FieldInfo
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from structures.fields import Record, file_key
from structures.units import unit_of

__all__ = ["Described", "field_docs"]

_LENGTH: Final = "[length_unit]"
_NOTES: Final = re.compile(r"\n\n\w+\n-{3,}\n.*", re.DOTALL)
"""Sections of a docstring: they are for those who use the record in Python."""


class Described(GenerateJsonSchema):
    """Makes a JSON Schema in which every key of a record says what it means."""

    def model_schema(self, schema: core_schema.ModelSchema) -> JsonSchemaValue:
        """Return the schema of a record, with the descriptions of its keys."""
        made = super().model_schema(schema)
        record_type = schema["cls"]
        if issubclass(record_type, Record):
            if "description" in made:
                made["description"] = _in_document(_NOTES.sub("", made["description"]))
            docs = field_docs(record_type)
            for name, field in record_type.model_fields.items():
                described = made["properties"].get(field.alias or name)
                if described is not None:
                    _describe(described, name, field, docs.get(name, ""))
        return made


def field_docs(record_type: type[Record]) -> dict[str, str]:
    """Return the docstrings of the fields of a record and of those it is made from.

    Raises
    ------
    OSError
        The source of a record is not installed beside it.
    """
    found: dict[str, str] = {}
    for one in reversed(record_type.__mro__):
        if issubclass(one, Record) and one is not Record:
            found |= _docs_of_module(one.__module__).get(one.__name__, {})
    return found


@cache
def _docs_of_module(module: str) -> dict[str, dict[str, str]]:
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    return {node.name: _docs_of_class(node) for node in tree.body if isinstance(node, ast.ClassDef)}


def _docs_of_class(node: ast.ClassDef) -> dict[str, str]:
    found: dict[str, str] = {}
    for field, below in zip(node.body, node.body[1:], strict=False):
        match field, below:
            case (
                ast.AnnAssign(target=ast.Name(id=name)),
                ast.Expr(value=ast.Constant(value=str(text))),
            ):
                found[name] = " ".join(text.split())
    return found


def _describe(described: dict[str, Any], name: str, field: FieldInfo, doc: str) -> None:
    """Write the description of a key, and a default length in metres into it.

    A bare default beside a length would be read in the document's unit: 0.0635
    as inches, where metres are meant.
    """
    said = [_with_unit(_in_document(doc), name)] if doc else []
    if file_key(name) != name and _is_dimensioned(field.default):
        described.pop("default", None)
        unit = "m/s" if name.endswith("_m_per_s") else "m"
        said.append(f"Not given: {field.default:.6g} {unit}, whatever the length_unit.")
    if said:
        described["description"] = " ".join(said)


def _is_dimensioned(default: Any) -> bool:
    return isinstance(default, float) and default != 0


def _with_unit(text: str, name: str) -> str:
    bare = unit_of(name, "length_unit")
    unit = f"[{bare}]"
    if not bare or unit in text:
        return text
    text = text.replace(_LENGTH, unit) if unit.startswith("[length_unit/") else text
    return text if unit in text else f"{text.removesuffix('.')} {unit}."


def _in_document(text: str) -> str:
    """Name keys and lengths as documents have them."""
    text = re.sub(r"\b[a-z]\w*_m(_per_s)?\b", lambda found: file_key(found[0]), text)
    return text.replace("[m]", _LENGTH).replace("[m/s]", "[length_unit/s]")
