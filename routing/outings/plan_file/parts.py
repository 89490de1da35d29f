"""What a plan's parts say, whether they are records already or still plain tables."""

from collections.abc import Mapping, Sequence
from typing import Any

__all__ = ["Lists", "get", "texts"]

Lists = Mapping[str, Sequence[Any] | None]
"""The lists of a plan by key, as records or plain tables; None for one not read whole."""


def get(part: Any, key: str) -> Any:
    """Return the value of a key of a part, None where it has none."""
    return part.get(key) if isinstance(part, dict) else getattr(part, key, None)


def texts(value: Any) -> list[str]:
    """Return a text, or the texts of a list, as a list; what is no text is left out."""
    if isinstance(value, str):
        return [value]
    return [one for one in value if isinstance(one, str)] if isinstance(value, list | tuple) else []
