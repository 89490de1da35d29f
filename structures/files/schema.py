"""The JSON Schema of documents as they stand in files."""

from typing import Any

from structures.fields import Record
from structures.files.described import Described
from structures.files.record_types import element_types
from structures.model import SCHEMA_VERSION, Structure

__all__ = ["DIALECT", "json_schema"]

DIALECT = "https://json-schema.org/draft/2020-12/schema"

_UNIT = {
    "enum": ["m", "ft", "in"],
    "description": "Unit of all lengths and coordinates in this file (of the keys marked "
    "[length_unit]); coordinates are in station axes, or in those of the frame.",
}
_SIGNED = ["x", "-x", "y", "-y", "z", "-z"]
_AXES = {
    axis: {"enum": _SIGNED, "description": f"Axis of the document along station {axis.upper()}."}
    for axis in "xyz"
}
_FRAME = {
    "type": "object",
    "description": "The document's own frame: for each station axis the signed axis of the "
    "document that runs along it, and the station coordinates of the document's origin in the "
    "document's length unit. Not given: station axes.",
    "properties": {
        **_AXES,
        "offset": {
            "type": "array",
            "description": "Station coordinates of the document's origin [length_unit].",
            "items": {"type": "number"},
            "minItems": 3,
            "maxItems": 3,
            "default": [0, 0, 0],
        },
    },
    "required": ["x", "y", "z"],
    "additionalProperties": False,
}
_CSV_NAME = {
    "type": "string",
    "pattern": r"^[^/\\].*\.[cC][sS][vV]$",
    "description": "A CSV file beside the document or in a folder below it.",
}


def json_schema(
    record_type: type[Record] = Structure, *, version: int = SCHEMA_VERSION
) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a record's documents.

    It covers what stands in the one document. Rules across elements (unique
    ids, references), lengths beyond the largest, and CSV files are checked on
    reading only.

    Parameters
    ----------
    record_type
        What the documents hold.
    version
        Their schema version.
    """
    schema = record_type.model_json_schema(
        by_alias=True, mode="validation", schema_generator=Described
    )
    properties = schema.setdefault("properties", {})
    for key in element_types(record_type):
        properties[key] = _list_or_file(properties[key])
    head = {
        "schema_version": {"const": version, "description": "Version of this schema."},
        "length_unit": _UNIT,
        "frame": _FRAME,
    }
    schema["properties"] = head | {k: v for k, v in properties.items() if k not in head}
    required = [key for key in schema.get("required", ()) if key not in head]
    schema["required"] = ["schema_version", "length_unit", *required]
    return {"$schema": DIALECT, **schema}


def _list_or_file(of_elements: dict[str, Any]) -> dict[str, Any]:
    about: dict[str, Any] = {}
    for key in ("title", "description", "default"):
        if key in of_elements:
            about[key] = of_elements.pop(key)
    named = {
        "type": "object",
        "properties": {"csv": _CSV_NAME, "length_unit": _UNIT},
        "required": ["csv"],
        "additionalProperties": False,
    }
    return {**about, "anyOf": [of_elements, _CSV_NAME, named]}
