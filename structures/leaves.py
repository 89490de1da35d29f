"""What is in a record, value by value, and which values are the same but for rounding."""

import math
from collections.abc import Iterator
from typing import Any, Final, NamedTuple

from structures.fields import Record, Role, field_role

__all__ = ["Leaf", "leaves_of", "rounded", "same_leaf"]

_ROUNDING: Final = 1e-9
"""Numbers no farther apart than this are the same: a document written anew in another unit
rounds its lengths another way. A nanometre is what limits allow for the same reason."""
_ROUNDING_SHARE: Final = 1e-14
"""The same as a share of large ones (loads, powers)."""


_ANY_ORDER: Final = frozenset({"applies_to", "closes", "tie_handrails", "when"})
"""Fields that list ids or words, in whatever order."""


class Leaf(NamedTuple):
    """A value that is compared as one, and what it is."""

    role: Role
    value: Any


def leaves_of(record: Record, path: str = "") -> Iterator[tuple[str, Leaf]]:
    """Yield everything in a record by its path; entries of lists by their id if they have one."""
    for name, field in type(record).model_fields.items():
        value = getattr(record, name)
        here = f"{path}{name}"
        if isinstance(value, Record):
            yield from leaves_of(value, f"{here}.")
        elif isinstance(value, tuple) and value and all(isinstance(one, Record) for one in value):
            for i, one in enumerate(value):
                yield from leaves_of(one, f"{here}[{getattr(one, 'id', i)}].")
        else:
            if name in _ANY_ORDER:
                value = tuple(sorted(value))
            yield here, Leaf(field_role(field.annotation, field.metadata), value)


def same_leaf(old: Leaf | None, new: Leaf | None) -> bool:
    """Tell whether two values are the same but for rounding, or neither is there."""
    if old is None or new is None:
        return old is new
    return old.role == new.role and _alike(old.value, new.value)


def _alike(old: Any, new: Any) -> bool:
    """Tell whether two values are the same but for rounding."""
    if isinstance(old, tuple) and isinstance(new, tuple):
        return len(old) == len(new) and all(map(_alike, old, new))
    if isinstance(old, float) and isinstance(new, float):
        return math.isclose(old, new, rel_tol=_ROUNDING_SHARE, abs_tol=_ROUNDING)
    return bool(old == new)


def rounded(value: Any) -> Any:
    """Return a value as a guess takes it: to the micrometre, and 0 without a sign."""
    if isinstance(value, tuple):
        return tuple(rounded(one) for one in value)
    return round(value, 6) + 0.0 if isinstance(value, float) else value
