"""What every document says first: its schema version, length unit and frame."""

from typing import Any, NamedTuple

from structures.fields import FARTHEST_M, Reading
from structures.files.faults import Fault, shown
from structures.frames import IDENTITY, Frame, Vector
from structures.units import METRES_PER_UNIT

__all__ = ["HEAD_KEYS", "Head", "metres_per", "read_head", "read_unit"]

HEAD_KEYS = ("schema_version", "length_unit", "frame")
"""Keys that every document may have beside those of its record."""

_AXES = ("x", "-x", "y", "-y", "z", "-z")
_FACTORS: dict[str, float] = {str(unit): factor for unit, factor in METRES_PER_UNIT.items()}
_UNITS = '"m", "ft" or "in"'


class Head(NamedTuple):
    """How the numbers of a document are to be read; ``unit`` is empty when not known."""

    unit: str
    reading: Reading


def read_head(raw: dict[str, Any], version: int, faults: list[Fault]) -> Head:
    """Return the unit and frame of a document; what is wrong with them goes into ``faults``.

    An unknown unit is read as inches, the smallest one, so that it leads to no
    wrong complaint about lengths that are too large.
    """
    _check_version(raw, version, faults)
    if "length_unit" in raw:
        unit = read_unit(raw["length_unit"], ("length_unit",), faults)
    else:
        unit = ""
        faults.append(
            Fault(("length_unit",), "the document has no length_unit", f"give it: {_UNITS}")
        )
    factor = metres_per(unit)
    frame = IDENTITY
    if "frame" in raw:
        frame = _read_frame(raw["frame"], factor, unit, faults) or IDENTITY
    return Head(unit, Reading(factor, frame))


def metres_per(unit: str) -> float:
    """Return the metres in a length unit, or those in an inch if the unit is not known."""
    return _FACTORS.get(unit, METRES_PER_UNIT["in"])


def read_unit(value: Any, path: tuple[str | int, ...], faults: list[Fault]) -> str:
    """Return a length unit, or the empty text and a fault if it is not one."""
    if isinstance(value, str) and value in METRES_PER_UNIT:
        return value
    faults.append(
        Fault(
            path,
            f"the length unit {shown(value)} is not known",
            f"write {_UNITS}",
        )
    )
    return ""


def _check_version(raw: dict[str, Any], version: int, faults: list[Fault]) -> None:
    path = ("schema_version",)
    if "schema_version" not in raw:
        faults.append(
            Fault(path, "the document has no schema_version", f"add schema_version = {version}")
        )
    elif type(raw["schema_version"]) is not int or raw["schema_version"] != version:
        faults.append(
            Fault(
                path,
                f"the schema version is {shown(raw['schema_version'])}",
                f"this version of gripway reads the whole number {version}; "
                "convert the document or use the gripway it was written for",
            )
        )


def _read_frame(value: Any, factor: float, unit: str, faults: list[Fault]) -> Frame | None:
    path = ("frame",)
    like = 'write frame = { x = "-x", y = "-z", z = "-y", offset = [0, 0, 0] }'
    if not isinstance(value, dict):
        faults.append(Fault(path, f"the frame {shown(value)} is not a table", like))
        return None
    before = len(faults)
    faults += [
        Fault((*path, key), f"a frame has no key {key!r}", "its keys are x, y, z and offset")
        for key in value
        if key not in {"x", "y", "z", "offset"}
    ]
    axes = tuple(_axis(value, name, faults) for name in ("x", "y", "z"))
    offset_m = _offset(value.get("offset", [0, 0, 0]), factor, unit, faults)
    if len(faults) > before:
        return None
    x, y, z = axes
    try:
        return Frame((x, y, z), offset_m)
    except ValueError as error:
        message, _, remedy = str(error).rpartition("; ")
        faults.append(Fault(path, message, remedy))
        return None


def _axis(value: dict[str, Any], name: str, faults: list[Fault]) -> str:
    axis = value.get(name)
    if isinstance(axis, str) and axis in _AXES:
        return axis
    found = f"{shown(axis)} is not an axis" if name in value else "this axis is not given"
    faults.append(
        Fault(
            ("frame", name),
            f"{found} (the document's axis along station {name.upper()})",
            'write "x", "-x", "y", "-y", "z" or "-z"',
        )
    )
    return ""


def _offset(value: Any, factor: float, unit: str, faults: list[Fault]) -> Vector:
    numbers = (
        [float(one) for one in value if type(one) in {int, float} and abs(one) <= 1e9]
        if isinstance(value, list)
        else []
    )
    if len(numbers) == 3 and len(value) == 3:
        x, y, z = (number * factor for number in numbers)
        if max(abs(x), abs(y), abs(z)) <= FARTHEST_M:
            return (x, y, z)
    faults.append(
        Fault(
            ("frame", "offset"),
            f"the offset {shown(value)} is not three lengths [{unit or 'unit not known'}]",
            f"give three numbers of at most {FARTHEST_M:g} m, in the document's length unit",
        )
    )
    return (0.0, 0.0, 0.0)
