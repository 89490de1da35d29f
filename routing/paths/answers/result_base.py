"""The base of all result records: plain frozen values, read and written as JSON on request.

Results are made by Gripway itself, many in every answer, so nothing is parsed
when one is made: numbers become what their field says and must be finite, and
that is all. What reads documents, and makes their JSON Schema, is loaded when
it is asked for; a cold answer as text never does.
"""

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, ClassVar, Final, Self, dataclass_transform

from structures.fields import Record
from structures.frozen import frozen

if TYPE_CHECKING:
    from pydantic import TypeAdapter

__all__ = ["Result"]

_NUMBERS: Final[Mapping[Any, type[float]]] = {
    float: float,
    float | None: float,
    int: int,
    int | None: int,
}
"""The types of fields that are numbers, and what their values are made."""


@dataclass_transform(kw_only_default=True, frozen_default=True)
class Result:
    """Base of all result records: frozen, closed, no NaN, units in the names.

    Every class made from it becomes a frozen dataclass whose fields are given by name.
    `dataclasses.fields` and `dataclasses.replace` work on it.

    Raises
    ------
    ValueError
        A number is NaN or infinite.
    TypeError
        A field is missing or not known.
    """

    __pydantic_config__: ClassVar = {"extra": "forbid", "allow_inf_nan": False}
    __numbers__: ClassVar[dict[str, type[float]]]
    """Of each field that is a number or None: which kind of number."""
    __frozen_names__: ClassVar[tuple[str, ...]]
    """The names of the fields, in order."""

    def __init_subclass__(cls) -> None:
        """Make a frozen dataclass of a class of results."""
        frozen(kw_only=True)(cls)
        own: Any = cls
        cls.__numbers__ = {
            one.name: _NUMBERS[one.type] for one in fields(own) if one.type in _NUMBERS
        }

    def __post_init__(self) -> None:
        """Make numbers what their fields say: 0.0 in JSON, not 0, and never a numpy scalar."""
        held = self.__dict__
        for name, kind in self.__numbers__.items():
            value = held[name]
            if value is None:
                continue
            if not math.isfinite(value):
                raise ValueError(f"{name} of a {type(self).__name__} is {value}; it must be finite")
            if type(value) is not kind:
                held[name] = kind(value)

    @classmethod
    def field_names(cls) -> tuple[str, ...]:
        """Return the names of the fields, in order."""
        return cls.__frozen_names__

    @classmethod
    def from_document(cls, document: Any) -> Self:
        """Return the record that JSON values stand for.

        Raises
        ------
        pydantic.ValidationError
            They stand for none.
        """
        kind: Any = cls
        made: Self = _adapter(kind).validate_python(document)
        return made

    @classmethod
    def json_schema(cls) -> dict[str, Any]:
        """Return the JSON Schema of what `to_document` gives."""
        kind: Any = cls
        return _adapter(kind).json_schema(mode="serialization")

    def to_row(self) -> dict[str, Any]:
        """Return the fields as JSON values, also those that do not apply."""
        return {name: _as_json(self.__dict__[name]) for name in self.__frozen_names__}

    def to_document(self) -> dict[str, Any]:
        """Return the record as JSON values; keys that do not apply are left out."""
        return {
            name: _as_json(value)
            for name in self.__frozen_names__
            if (value := self.__dict__[name]) is not None
        }


def _as_json(value: Any) -> Any:
    if isinstance(value, Result):
        return value.to_document()
    if isinstance(value, Record):
        return value.model_dump(mode="json", exclude_none=True)
    if isinstance(value, tuple):
        return [_as_json(one) for one in value]
    if isinstance(value, dict):
        return {key: _as_json(one) for key, one in value.items()}
    if is_dataclass(value):
        held = {one.name: getattr(value, one.name) for one in fields(value)}
        return {name: _as_json(one) for name, one in held.items() if one is not None}
    return value


@cache
def _adapter(kind: Any) -> "TypeAdapter[Any]":
    from pydantic import TypeAdapter

    return TypeAdapter(kind)
