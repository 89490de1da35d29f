"""Frozen value classes that are cheap to define: dataclasses whose methods are shared.

`dataclasses.dataclass(frozen=True)` writes and compiles the source of up to
eight methods for each class when its module is imported, almost a millisecond
a class. A cold answer defines some fifty, which was a third of what it costs
to import numpy, pydantic and typer. `frozen` makes a dataclass (`fields`,
`replace` and `asdict` work on it) and gives it methods that read its fields.
"""

from collections.abc import Callable, Sequence
from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, fields
from typing import Any, NoReturn, TypeVar, dataclass_transform

__all__ = ["frozen"]

Class = TypeVar("Class", bound=type[Any])


@dataclass_transform(frozen_default=True)
def frozen(
    *, kw_only: bool = False, eq: bool = True, keep_hash: bool = False
) -> Callable[[Class], Class]:
    """Make a frozen dataclass of a class with annotated fields.

    Parameters
    ----------
    kw_only
        Whether fields are given by name only.
    eq
        Whether two values with equal fields are equal, and hash alike; leave it
        out where fields are arrays, which do not compare to one truth.
    keep_hash
        Whether the hash is worked out once a value: for what is looked up again and again.
        Only for fields of numbers, because texts hash otherwise in another process.

    Examples
    --------
    >>> @frozen()
    ... class Gap:
    ...     start: str
    ...     length_m: float = 0.5
    >>> Gap("G1")
    Gap(start='G1', length_m=0.5)
    >>> Gap("G1") == Gap("G1", length_m=0.5)
    True
    """

    def make(cls: Class) -> Class:
        made: Any = dataclass(
            init=False, repr=False, eq=False, match_args=not kw_only, kw_only=kw_only
        )(cls)
        found = fields(made)
        made.__frozen_names__ = tuple(field.name for field in found)
        made.__init__ = _initialiser(made, found)
        made.__repr__ = _represent
        made.__setattr__ = _refuse_set
        made.__delattr__ = _refuse_delete
        if eq:
            made.__eq__ = _equal
            made.__hash__ = _kept_hash if keep_hash else _hash
        return cls

    return make


def _initialiser(cls: Any, found: Sequence["Field[Any]"]) -> Callable[..., None]:
    """Return the method that puts arguments and defaults into a new value."""
    names = frozenset(cls.__frozen_names__)
    in_order = tuple(field.name for field in found if not field.kw_only)
    defaults = {f.name: f.default for f in found if f.default is not MISSING}
    factories = {f.name: f.default_factory for f in found if f.default_factory is not MISSING}
    check: Callable[[Any], None] | None = getattr(cls, "__post_init__", None)

    def initialise(self: Any, /, *args: Any, **given: Any) -> None:
        held: dict[str, Any] = self.__dict__
        held.update(defaults)
        for name, make_default in factories.items():
            if name not in given:
                held[name] = make_default()
        held.update(zip(in_order, args, strict=False))
        held.update(given)
        wrong = held.keys() != names or len(args) > len(in_order)
        if wrong or (args and given.keys() & in_order[: len(args)]):
            raise TypeError(_what_is_wrong(cls, args, given))
        if check is not None:
            check(self)

    return initialise


def _what_is_wrong(cls: Any, args: tuple[Any, ...], given: dict[str, Any]) -> str:
    """Return what a call got wrong about the fields of a class."""
    in_order = [field.name for field in fields(cls) if not field.kw_only]
    if len(args) > len(in_order):
        return f"{cls.__name__} takes {len(in_order)} values by position, not {len(args)}"
    known = {field.name: field for field in fields(cls)}
    unknown = [name for name in given if name not in known]
    if unknown:
        return f"{cls.__name__} has no field {', '.join(unknown)}; it has {', '.join(known)}"
    by_position = in_order[: len(args)]
    twice = [name for name in given if name in by_position]
    if twice:
        return f"{cls.__name__} is given {', '.join(twice)} twice"
    missing = [
        name
        for name, field in known.items()
        if name not in (*by_position, *given)
        and field.default is MISSING
        and field.default_factory is MISSING
    ]
    return f"{cls.__name__} needs a value for {', '.join(missing)}"


def _represent(self: Any) -> str:
    values = ", ".join(f"{f.name}={getattr(self, f.name)!r}" for f in fields(self) if f.repr)
    return f"{type(self).__qualname__}({values})"


def _refuse_set(self: Any, name: str, _value: object) -> NoReturn:
    raise FrozenInstanceError(f"cannot assign to {name!r} of a {type(self).__name__}")


def _refuse_delete(self: Any, name: str) -> NoReturn:
    raise FrozenInstanceError(f"cannot delete {name!r} of a {type(self).__name__}")


def _values(self: Any) -> tuple[Any, ...]:
    """Return the fields' values; planning an outing compares tens of thousands of values."""
    return tuple(map(self.__dict__.__getitem__, type(self).__frozen_names__))


def _equal(self: Any, other: object) -> object:
    if type(self) is not type(other):
        return NotImplemented
    return bool(_values(self) == _values(other))


def _hash(self: Any) -> int:
    return hash(_values(self))


def _kept_hash(self: Any) -> int:
    held: dict[str, Any] = self.__dict__
    if "_hash" not in held:
        held["_hash"] = hash(_values(self))
    return int(held["_hash"])
