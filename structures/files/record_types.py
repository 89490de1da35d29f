"""What a document may hold at each place, read off the record types themselves."""

from collections.abc import Sequence
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from structures.fields import Record

__all__ = [
    "PathStep",
    "allowed_keys",
    "bare_type",
    "choices_by_shape",
    "element_types",
    "example_of",
    "field_at",
    "record_at",
    "type_at",
]

PathStep = str | int


def bare_type(annotation: Any) -> Any:
    """Return a type without its annotations and without ``None`` as a choice."""
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    if get_origin(annotation) in {Union, UnionType}:
        kept = [choice for choice in get_args(annotation) if choice is not NoneType]
        if len(kept) == 1:
            return bare_type(kept[0])
    return annotation


def choices_by_shape(annotation: Any) -> dict[str, type[Record]]:
    """Return the records that a ``shape`` key chooses between; empty for any other type."""
    bare = bare_type(annotation)
    if get_origin(bare) not in {Union, UnionType}:
        return {}
    found: dict[str, type[Record]] = {}
    for choice in get_args(bare):
        inner = bare_type(choice)
        if isinstance(inner, type) and issubclass(inner, Record):
            found[str(inner.model_fields["shape"].default)] = inner
        else:
            found |= choices_by_shape(inner)
    return found


@cache
def element_types(record_type: type[Record]) -> dict[str, type[Record]]:
    """Return the lists of records that a record holds: key in documents -> element type."""
    found: dict[str, type[Record]] = {}
    for name, field in record_type.model_fields.items():
        bare = bare_type(field.annotation)
        if get_origin(bare) is tuple:
            inner = bare_type(get_args(bare)[0])
            if isinstance(inner, type) and issubclass(inner, Record):
                found[field.alias or name] = inner
    return found


def record_at(record_type: type[Record], path: Sequence[PathStep], raw: Any) -> type[Record] | None:
    """Return the type of the record at a path of the raw document, None where none is."""
    at: Any = record_type
    for step in path:
        at = _inside(at, step, raw)
        raw = _value_inside(raw, step)
    at = _chosen(at, raw)
    return at if isinstance(at, type) and issubclass(at, Record) else None


def type_at(record_type: type[Record], path: Sequence[PathStep], raw: Any) -> Any:
    """Return the type that the value at a path must have, None if the path leads nowhere."""
    at: Any = record_type
    for step in path:
        at = _inside(at, step, raw)
        raw = _value_inside(raw, step)
    return bare_type(at)


_IDS = {
    "when": '["radar-on"]',
    "sets": '["radar-on"]',
    "clears": '["radar-on"]',
    "who": '["EV1", "EV2"]',
    "closes": '["H12", "TP3"]',
    "closed": '["H12", "TP3"]',
    "tie_handrails": '["H12", "H13"]',
    "via": '["H12", "H13"]',
}
"""How lists of ids are written under some keys."""


def example_of(annotation: Any, key: str = "") -> str:
    """Return how a value of a type is written, for messages; lists of texts as ids of the key."""
    bare = bare_type(annotation)
    if choices_by_shape(bare):
        return f'{{ shape = "{next(iter(choices_by_shape(bare)))}", ... }}'
    args = get_args(bare)
    if get_origin(bare) is tuple:
        if len(args) == 2 and args[1] is Ellipsis:
            inner = example_of(args[0])
            ids = _IDS.get(key, '["first-id", "second-id"]')
            return ids if bare_type(args[0]) is str else f"[{inner}, {inner}]"
        return f"[{', '.join('xyz'[: len(args)])}]"
    if get_origin(bare) is Literal:
        return " or ".join(f'"{one}"' if isinstance(one, str) else str(one) for one in args)
    if isinstance(bare, type) and issubclass(bare, Record):
        return "{ ... }"
    return {str: '"text"', float: "2.5", int: "2", bool: "true or false"}.get(bare, "a value")


def field_at(record_type: type[Record], path: Sequence[PathStep], raw: Any) -> tuple[str, Any]:
    """Return the field name and annotation at the last key of a path, ("", None) if unknown."""
    last = max((i for i, step in enumerate(path) if isinstance(step, str)), default=-1)
    if last < 0:
        return "", None
    holder = record_at(record_type, path[:last], raw)
    for name, field in () if holder is None else holder.model_fields.items():
        if (field.alias or name) == path[last]:
            return name, field.annotation
    return "", None


def allowed_keys(record_type: type[Record]) -> tuple[str, ...]:
    """Return the keys that a record may have in a document, in order."""
    return tuple(field.alias or name for name, field in record_type.model_fields.items())


def _chosen(at: Any, raw: Any) -> Any:
    bare = bare_type(at)
    choices = choices_by_shape(bare)
    if choices:
        shape = raw.get("shape") if isinstance(raw, dict) else None
        return choices.get(shape) if isinstance(shape, str) else None
    return bare


def _inside(at: Any, step: PathStep, raw: Any) -> Any:
    at = _chosen(at, raw)
    if isinstance(step, int):
        args = get_args(at)
        if get_origin(at) is not tuple or not args:
            return None
        return args[0] if len(args) == 2 and args[1] is Ellipsis else args[min(step, len(args) - 1)]
    if isinstance(at, type) and issubclass(at, Record):
        for name, field in at.model_fields.items():
            if (field.alias or name) == step:
                return field.annotation
    return None


def _value_inside(raw: Any, step: PathStep) -> Any:
    if isinstance(raw, dict):
        return raw.get(step)
    if isinstance(raw, list | tuple) and isinstance(step, int) and step < len(raw):
        return raw[step]
    return None
