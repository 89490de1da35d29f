"""Field types of the records: one definition is schema, validation and memory.

A length field is called ``standoff_m`` in memory, where it is in metres, and
``standoff`` in a document, where it is in the document's own length unit. The
reader passes a `Reading` as validation context; without one (records made in
Python) values are metres in the station frame already.
"""

import math
from collections.abc import Callable, Sequence
from typing import Annotated, Any, Final, Literal, TypeAlias, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    Strict,
    ValidationInfo,
)
from pydantic_core import CoreSchema, core_schema

from structures.frames import IDENTITY, Frame, Vector
from structures.frozen import frozen
from structures.human import BODY_RADIUS, HAND_REACH, HOOK_REACH, TRANSLATION_RATE, Span

__all__ = [
    "FARTHEST_M",
    "BodyRadius",
    "Coordinate",
    "Direction",
    "Flag",
    "HandReach",
    "HookReach",
    "Identifier",
    "Length",
    "Number",
    "Point",
    "PositiveLength",
    "PositiveNumber",
    "Reading",
    "Record",
    "Text",
    "TranslationRate",
    "field_role",
]

FARTHEST_M = 10_000.0
"""No coordinate or length may be larger [m]: a bigger one is a unit mixed up."""

SHORTEST_M = 1e-9
"""What must be longer than nothing is at least this [m]: less overflows what divides by it."""


@frozen()
class Reading:
    """How the numbers of a document become metres in the station frame."""

    metres_per_unit: float = 1.0
    frame: Frame = IDENTITY


def _reading(info: ValidationInfo) -> Reading | None:
    return info.context if isinstance(info.context, Reading) else None


def _bounded(value_m: float) -> float:
    if abs(value_m) > FARTHEST_M:
        raise ValueError(
            f"{value_m:g} m is beyond {FARTHEST_M:g} m, the largest length allowed; "
            "check the length unit of the document"
        )
    return value_m


def _length(value: float, info: ValidationInfo) -> float:
    reading = _reading(info)
    return _bounded(value if reading is None else value * reading.metres_per_unit)


def _positive_length(value: float, info: ValidationInfo) -> float:
    value = _length(value, info)
    if value < SHORTEST_M:
        raise ValueError(
            f"{value:g} m is below {SHORTEST_M:g} m, the shortest length (or speed in m/s) "
            "allowed; check the number and the length unit"
        )
    return value


def _point(value: Vector, info: ValidationInfo) -> Vector:
    reading = _reading(info)
    if reading is not None:
        factor = reading.metres_per_unit
        x, y, z = value
        value = (x * factor, y * factor, z * factor)
        if reading.frame is not IDENTITY:
            value = reading.frame.to_station(value)
    for coordinate in value:
        _bounded(coordinate)
    return value


def _direction(value: Vector, info: ValidationInfo) -> Vector:
    length = math.hypot(*value)
    if not 1e-6 < length < 1e6:
        raise ValueError(
            f"a direction of length {length:g} points nowhere; "
            "give three numbers that are not all zero"
        )
    reading = _reading(info)
    if reading is None or reading.frame is IDENTITY:
        return value
    return reading.frame.rotate(value)


_UNSEEN: Final = frozenset({"Cc", "Cf", "Zl", "Zp"})
"""Unicode categories of what nobody sees, or what turns round how the rest is shown."""


def _seen(value: str, _info: ValidationInfo) -> str:
    """Refuse ids that look like another id, or not like what they are."""
    if value.isascii():
        return value
    import unicodedata

    for letter in value:
        if unicodedata.category(letter) in _UNSEEN:
            name = unicodedata.name(letter, "a control character")
            raise ValueError(
                f"the id has the invisible character U+{ord(letter):04X} ({name}); leave it out: "
                "ids that look alike must be alike"
            )
    return value


Check: TypeAlias = Callable[[Any, ValidationInfo], Any]
"""Returns a value, or raises `ValueError` and says why not."""


def _checked(schema: CoreSchema, check: Check) -> CoreSchema:
    """Return a schema followed by a check whose parameters are known: nothing looks them up."""
    return core_schema.with_info_after_validator_function(check, schema)


@frozen()
class _Finite:
    """Says what a number may be, as the validator's own schema.

    ``Strict() ... Field(...)`` says the same; working that out for each of the
    hundred fields of the records costs a cold answer 10 ms.
    """

    above: float | None = None
    least: float | None = None
    then: Check | None = None
    """A further check, said in the same schema."""

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        number = core_schema.float_schema(
            strict=True, gt=self.above, ge=self.least, allow_inf_nan=False
        )
        return number if self.then is None else _checked(number, self.then)


@frozen()
class _Letters:
    """Says what a text may be, in the same way and for the same reason."""

    most: int
    least: int | None = None
    pattern: str | None = None
    then: Check | None = None

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        text = core_schema.str_schema(
            strict=True, max_length=self.most, min_length=self.least, pattern=self.pattern
        )
        return text if self.then is None else _checked(text, self.then)


class _Then(AfterValidator):
    """A further check of what has one already."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        check: Any = self.func
        return _checked(handler(source), check)


class _Triple(AfterValidator):
    """A check of three numbers, said with them in one schema, for the same reason."""

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        check: Any = self.func
        number = core_schema.float_schema(strict=True, allow_inf_nan=False)
        numbers = core_schema.tuple_schema([number, number, number])
        return _checked(numbers, check)


def _of_people(span: Span) -> _Then:
    """Return the check that a document's number fits a person; Python may say anything."""

    def check(value: float, info: ValidationInfo) -> float:
        if _reading(info) is not None:
            span.refuse(value)
        return value

    return _Then(check)


# Strict: in a document "2.5" is a text, true is not a number and 1 is not true.
Flag: TypeAlias = Annotated[bool, Strict()]
Number: TypeAlias = Annotated[float, _Finite()]
PositiveNumber: TypeAlias = Annotated[float, _Finite(above=0)]
Length: TypeAlias = Annotated[float, _Finite(least=0, then=_length)]
Coordinate: TypeAlias = Annotated[float, _Finite(then=_length)]
"""A length with a sign, measured in a plane of its own (not a station coordinate)."""
PositiveLength: TypeAlias = Annotated[float, _Finite(above=0, then=_positive_length)]
HandReach: TypeAlias = Annotated[PositiveLength, _of_people(HAND_REACH)]
HookReach: TypeAlias = Annotated[PositiveLength, _of_people(HOOK_REACH)]
TranslationRate: TypeAlias = Annotated[PositiveLength, _of_people(TRANSLATION_RATE)]
BodyRadius: TypeAlias = Annotated[PositiveLength, _of_people(BODY_RADIUS)]
Point: TypeAlias = Annotated[tuple[Number, Number, Number], _Triple(_point)]
Direction: TypeAlias = Annotated[tuple[Number, Number, Number], _Triple(_direction)]
Text: TypeAlias = Annotated[str, _Letters(most=2000)]
Identifier: TypeAlias = Annotated[
    str, _Letters(least=1, most=64, pattern=r"^[^\s@\x00-\x1f\x7f]+$", then=_seen)
]
"""An id: no white space, no control character, nothing invisible, no ``@`` (it separates rail
and distance). Names may have such letters: what prints them isolates or escapes them."""
Role: TypeAlias = Literal["point", "direction", "plain"]


def field_role(annotation: Any, metadata: Sequence[Any] = ()) -> Role:
    """Tell whether a field holds station coordinates, directions, or neither.

    Parameters
    ----------
    annotation, metadata
        Of a field of a record; lists and choices with ``None`` are looked into.

    Examples
    --------
    >>> field_role(tuple[Point, ...]), field_role(Direction), field_role(Length)
    ('point', 'direction', 'plain')
    """
    for one in (*metadata, *getattr(annotation, "__metadata__", ())):
        if isinstance(one, AfterValidator) and one.func in {_point, _direction}:
            return "point" if one.func is _point else "direction"
    found = [field_role(inner) for inner in get_args(annotation)]
    return next((role for role in found if role != "plain"), "plain")


def file_key(name: str) -> str:
    """Return the key that a field has in documents: its name without the metre."""
    if name.endswith("_m_per_s"):
        return name.removesuffix("_m_per_s")
    return name.removesuffix("_m")


class Record(BaseModel):
    """Base of all records: frozen, closed to unknown keys, comparable by value."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=file_key,
        validate_by_name=True,
        validate_by_alias=True,
        serialize_by_alias=True,
        defer_build=True,
        hide_input_in_errors=True,
    )
