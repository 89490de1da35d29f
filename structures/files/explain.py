"""What validation found, in plain sentences: the value with its unit and what is allowed."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final, get_args

from pydantic import ValidationError

from structures.fields import Record
from structures.files.faults import MOST_FAULTS, Fault, KeyPath, shown
from structures.files.other_units import key_in_si
from structures.files.record_types import (
    allowed_keys,
    choices_by_shape,
    element_types,
    example_of,
    field_at,
    record_at,
    type_at,
)
from structures.units import unit_of

__all__ = ["explain"]


_PLAIN_ID: Final = re.compile(r"[\w.@-]{1,40}", re.ASCII)


@dataclass(frozen=True, slots=True)
class _Error:
    """One validation error with what is known of its place."""

    kind: str
    path: KeyPath
    value: Any
    allowed: dict[str, Any]
    record_type: type[Record]
    raw: Any
    unit: str

    @property
    def unit_here(self) -> str:
        """The unit of numbers at the place."""
        name, _ = field_at(self.record_type, self.path, self.raw)
        return unit_of(name, self.unit)

    @property
    def example(self) -> str:
        """How a value is written at the place."""
        key = next((step for step in reversed(self.path) if isinstance(step, str)), "")
        return example_of(type_at(self.record_type, self.path, self.raw), key)

    @property
    def shown(self) -> str:
        """The value with its unit."""
        unit = self.unit_here
        number = isinstance(self.value, int | float) and not isinstance(self.value, bool)
        return f"{shown(self.value)} {unit}" if unit and number else shown(self.value)


def explain(error: ValidationError, record_type: type[Record], raw: Any, unit: str) -> list[Fault]:
    """Return the faults behind a failed validation of ``raw``, at most `MOST_FAULTS`.

    Parameters
    ----------
    error
        What the validation raised.
    record_type
        The type that ``raw`` was validated as.
    raw
        The document's table.
    unit
        Its length unit, for messages.
    """
    faults: dict[tuple[KeyPath, str], Fault] = {}
    for found in error.errors(include_url=False)[:MOST_FAULTS]:
        path = _document_path(found["loc"], raw)
        if found["type"] == "missing" and isinstance(path[-1], int):
            path = path[:-1]  # a list of fixed length is too short
        one = _Error(
            found["type"], path, found["input"], found.get("ctx", {}), record_type, raw, unit
        )
        message, remedy = _SENTENCES.get(one.kind, _other)(one)
        faults.setdefault((path, message), Fault(path, message, remedy))
    return list(faults.values())


def _document_path(location: tuple[int | str, ...], raw: Any) -> KeyPath:
    """Drop from a location the steps that name the shape that was chosen."""
    path: list[int | str] = []
    at = raw
    for step in location:
        if isinstance(at, dict) and step not in at and at.get("shape") == step:
            continue
        path.append(step)
        if isinstance(at, dict):
            at = at.get(step)
        elif isinstance(at, list) and isinstance(step, int) and step < len(at):
            at = at[step]
        else:
            at = None
    return tuple(path)


Sentence = tuple[str, str]


def _missing(one: _Error) -> Sentence:
    if isinstance(one.value, list):
        return _wrong_count(one)
    return f"{one.path[-1]} is missing", f"add {one.path[-1]} = {one.example}"


def _wrong_count(one: _Error) -> Sentence:
    """Say that a list of fixed length is too short or too long."""
    return f"{shown(one.value)} has {_entries(len(one.value))}", f"write {one.example}"


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count} entries"


def _unknown_key(one: _Error) -> Sentence:
    from difflib import get_close_matches

    key = str(one.path[-1])
    holder = record_at(one.record_type, one.path[:-1], one.raw)
    known = allowed_keys(holder) if holder else ()
    if key.endswith("_m") and key.removesuffix("_m") in known:
        plain = key.removesuffix("_m")
        return (
            f"the key {shown(key)} is not known",
            f"write {plain}; lengths are in the document's length unit ({one.unit or 'not known'})",
        )
    converted = key_in_si(key, known)
    if converted is not None:
        return f"the key {shown(key)} is not known", converted
    nearest = get_close_matches(key, known, n=1)
    remedy = f"did you mean {nearest[0]}?" if nearest else f"the keys here are {', '.join(known)}"
    return f"the key {shown(key)} is not known", remedy


def _wanted(what: str, remedy: str) -> Callable[[_Error], Sentence]:
    return lambda one: (f"{one.shown} is not {what}", remedy)


def _bound(word: str, key: str) -> Callable[[_Error], Sentence]:
    return lambda one: (
        f"{one.shown} is out of range",
        f"give a number {word} {one.allowed[key]:g} {one.unit_here}".rstrip(),
    )


def _size(word: str, key: str) -> Callable[[_Error], Sentence]:
    def say(one: _Error) -> Sentence:
        count = _entries(len(one.value))
        return f"{shown(one.value)} has {count}", f"give {word} {one.allowed[key]}"

    return say


def _too_long(one: _Error) -> Sentence:
    fixed = get_args(type_at(one.record_type, one.path, one.raw))[-1:] != (Ellipsis,)
    return _wrong_count(one) if fixed else _size("at most", "max_length")(one)


def _text_size(word: str, key: str) -> Callable[[_Error], Sentence]:
    return lambda one: (
        f"the text {one.shown} has {len(one.value)} characters",
        f"{word} {one.allowed[key]} are allowed",
    )


def _number_wanted(one: _Error) -> Sentence:
    if isinstance(one.value, int) and not isinstance(one.value, bool):
        return f"{shown(one.value)} is too large", "give a finite number, for instance 2.5"
    return f"{one.shown} is not a number", _A_NUMBER


def _not_finite(one: _Error) -> Sentence:
    return (
        f"{shown(one.value)} is not a finite number",
        f"give a finite number [{one.unit_here or '1'}]; nan, inf and 1e999 are none",
    )


def _pattern(one: _Error) -> Sentence:
    return (
        f"the id {one.shown} has a character that ids may not have",
        "use no white space, no control character and no @, for instance port-rail-7",
    )


def _choice(one: _Error) -> Sentence:
    return f"{one.shown} is not one of the choices", f"write {one.allowed['expected']}"


def _shape(one: _Error) -> Sentence:
    _, annotation = field_at(one.record_type, one.path, one.raw)
    shapes = " or ".join(repr(name) for name in choices_by_shape(annotation))
    shape = one.value.get("shape") if isinstance(one.value, dict) else None
    found = "it has no shape" if shape is None else f"the shape {shown(shape)} is not known"
    return found, f"give shape = {shapes or 'one of the shapes'}"


def _own(one: _Error) -> Sentence:
    """Take over what a validator of the records says, which has the form ``problem; remedy``."""
    message, _, remedy = str(one.allowed["error"]).rpartition("; ")
    return (message, remedy) if message else (remedy, "correct it")


def _beyond_people(one: _Error) -> Sentence:
    """Say that a number fits no person, as written and in the unit it is held against."""
    said = one.allowed
    unit, metres = one.unit_here, f"{said['value']} {said['unit']}"
    written = metres if unit == said["unit"] else f"{one.shown} ({metres})"
    remedy = f"give {said['least']} to {said['most']} {said['unit']}"
    return (
        f"{said['what']} of {written} fits no person: {said['why']}",
        f"{remedy}; is the length unit ({one.unit or 'not known'}) right?",
    )


def _list_wanted(one: _Error) -> Sentence:
    key = one.path[-1] if one.path else ""
    if len(one.path) == 1 and key in element_types(one.record_type):
        return (
            f"{shown(one.value)} is not a list",
            f'write [[{key}]] tables, or name a file: {key} = "{key}.csv"',
        )
    # One id where ids are wanted: the same in brackets, not an example with other ids in it.
    alone = isinstance(one.value, str) and _PLAIN_ID.fullmatch(one.value)
    wanted = f'["{one.value}"]' if alone and one.example.startswith('["') else one.example
    return f"{shown(one.value)} is not a list", f"write {wanted}"


def _other(one: _Error) -> Sentence:
    return f"{one.shown} is not allowed here", "see the JSON Schema of documents for what is"


_A_NUMBER = "write digits without quotes, for instance 2.5"
_SENTENCES: dict[str, Callable[[_Error], Sentence]] = {
    "missing": _missing,
    "extra_forbidden": _unknown_key,
    "string_type": _wanted("a text", 'write a text in "quotes"'),
    "string_unicode": _wanted("valid text", "leave out half characters (\\ud800 to \\udfff)"),
    "float_type": _number_wanted,
    "float_parsing": _number_wanted,
    "int_type": _wanted("a whole number", "write it in digits without quotes or a point"),
    "int_parsing": _wanted("a whole number", "write it in digits without quotes or a point"),
    "int_from_float": _wanted("a whole number", "write it in digits without a point"),
    "bool_type": _wanted("true or false", "write true or false without quotes"),
    "bool_parsing": _wanted("true or false", "write true or false without quotes"),
    "finite_number": _not_finite,
    "greater_than": _bound("above", "gt"),
    "greater_than_equal": _bound("of at least", "ge"),
    "less_than": _bound("below", "lt"),
    "less_than_equal": _bound("of at most", "le"),
    "too_short": _size("at least", "min_length"),
    "too_long": _too_long,
    "string_too_short": _text_size("at least", "min_length"),
    "string_too_long": _text_size("at most", "max_length"),
    "string_pattern_mismatch": _pattern,
    "literal_error": _choice,
    "union_tag_invalid": _shape,
    "union_tag_not_found": _shape,
    "value_error": _own,
    "beyond_people": _beyond_people,
    "tuple_type": _list_wanted,
    "list_type": _list_wanted,
    "model_type": _wanted("a table", "write it as a table of key = value"),
    "model_attributes_type": _wanted("a table", "write it as a table of key = value"),
    "dict_type": _wanted("a table", "write it as a table of key = value"),
}
