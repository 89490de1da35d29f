"""The keys of a document as rows to read, worked out from its JSON Schema."""

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

from routing.cli.tables import Column

__all__ = ["KEY_COLUMNS", "key_rows"]

KEY_COLUMNS: Final = (
    Column("list", keep=16),
    Column("key", keep=16),
    Column("type", keep=14),
    Column("required"),
    Column("default", keep=10),
    Column("meaning", keep=24),
)
_UNIT: Final = re.compile(r" (\[[A-Za-z_/ ]+\])")
_IN_METRES: Final = re.compile(r" Not given: (\S+ m(?:/s)?), whatever the length_unit\.")
_WORDS: Final = {
    "string": "text",
    "boolean": "true or false",
    "integer": "whole number",
    "object": "table",
}


def key_rows(schema: Mapping[str, Any]) -> list[tuple[str, ...]]:
    """Return one row per key: list, key, type with unit, whether required, default, meaning.

    Records inside records follow those that hold them; a record that several
    keys hold (a shape) is told once, under the key that comes first.
    """
    kept: Mapping[str, Any] = schema.get("$defs", {})
    rows: list[tuple[str, ...]] = []
    told: set[str] = set()
    waiting: list[tuple[str, Mapping[str, Any]]] = [("document", schema)]
    while waiting:
        place, record = waiting.pop(0)
        inside: list[tuple[str, Mapping[str, Any]]] = []
        for key, one in record["properties"].items():
            rows.append(_row(place, key, one, key in record.get("required", ())))
            for name in _records_in(one):
                if name in kept and name not in told:
                    told.add(name)
                    inside.append((_place(place, key, kept[name]), kept[name]))
        waiting = [*waiting, *inside] if record is schema else [*inside, *waiting]
    return rows


def _place(place: str, key: str, record: Mapping[str, Any]) -> str:
    at = key if place == "document" else f"{place}.{key}"
    shape = record["properties"].get("shape", {}).get("const")
    return f"{at} ({shape})" if shape else at


def _row(place: str, key: str, one: Mapping[str, Any], required: bool) -> tuple[str, ...]:
    said = str(one.get("description", ""))
    unit = _UNIT.search(said)
    metres = _IN_METRES.search(said)
    kind = _type(one) + (f" {unit[1]}" if unit and key != "length_unit" else "")
    default = metres[1] if metres else _default(one.get("default"))
    meaning = _IN_METRES.sub("", said).replace("``", "")
    if unit and kind.endswith(unit[1]):
        meaning = meaning.replace(unit[0], "", 1)
    if "source" in one:
        meaning += f" Source: {one['source']}."
    return (place, key, kind, "yes" if required else "", default, meaning)


def _default(value: Any) -> str:
    if value is None or value in ("", [], {}):
        return ""
    if isinstance(value, dict):
        return "see its keys"
    return value if isinstance(value, str) else json.dumps(value)


def _type(one: Mapping[str, Any]) -> str:
    kind = str(one.get("type", "table"))
    if "const" in one:
        kind = str(one["const"])
    elif "enum" in one:
        kind = " or ".join(map(str, one["enum"]))
    elif "anyOf" in one:
        choices = [each for each in one["anyOf"] if each.get("type") != "null"]
        from_file = any("csv" in each.get("properties", ()) for each in choices)
        kinds = ["tables", "CSV file"] if from_file else map(_type, choices)
        kind = " or ".join(dict.fromkeys(kinds))
    elif kind == "array" and "prefixItems" in one:
        kind = _several([_type(each) for each in one["prefixItems"]])
    elif kind == "array":
        many = one.get("minItems", 0) == one.get("maxItems")
        inner = _type(one["items"])
        kind = _several([inner] * one["minItems"]) if many else f"list of {inner}"
    return _WORDS.get(kind, kind)


def _several(kinds: list[str]) -> str:
    return f"{len(kinds)} x {kinds[0]}" if len(set(kinds)) == 1 else f"[{', '.join(kinds)}]"


def _records_in(one: Any) -> Iterator[str]:
    if isinstance(one, dict):
        if isinstance(one.get("$ref"), str):
            yield one["$ref"].rsplit("/", 1)[-1]
        for key, each in one.items():
            if key not in {"description", "default", "discriminator"}:
                yield from _records_in(each)
    elif isinstance(one, list):
        for each in one:
            yield from _records_in(each)
