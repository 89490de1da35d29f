"""Plain values as TOML 1.0 text that reads back as exactly the same values."""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

__all__ = ["toml_text"]

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_NOT_PLAIN = re.compile(r'["\\\x00-\x1f\x7f]')
_ESCAPES = {
    '"': '\\"',
    "\\": "\\\\",
    "\b": "\\b",
    "\t": "\\t",
    "\n": "\\n",
    "\f": "\\f",
    "\r": "\\r",
}


def toml_text(document: Mapping[str, Any]) -> str:
    r"""Return a document as TOML: values first, then tables, then lists of tables.

    Parameters
    ----------
    document
        Texts, finite numbers, Booleans, lists and tables of these, with text keys.

    Raises
    ------
    ValueError
        A number is not finite, or a value is of another type.

    Examples
    --------
    >>> toml_text({"name": "a", "rails": [{"id": "r1", "normal": [0.0, 0.0, 1.0]}]})
    'name = "a"\n\n[[rails]]\nid = "r1"\nnormal = [0.0, 0.0, 1.0]\n'
    """
    return "".join(_table(document, ()))


def _table(table: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    tables = {key: value for key, value in table.items() if _is_block(value, len(path))}
    for key, value in table.items():
        if key not in tables:
            yield f"{_key(key)} = {_value(value)}\n"
    for key, value in tables.items():
        inner_path = (*path, key)
        title = ".".join(_key(part) for part in inner_path)
        if isinstance(value, Mapping):
            yield f"\n[{title}]\n"
            yield from _table(value, inner_path)
        else:
            for entry in value:
                yield f"\n[[{title}]]\n"
                yield from _table(entry, inner_path)


def _is_block(value: Any, depth: int) -> bool:
    """Tell whether a value is written under a header of its own: only at the top."""
    if depth:
        return False
    if isinstance(value, Mapping):
        return True
    return _is_list(value) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _is_list(value: Any) -> bool:
    return isinstance(value, list | tuple)


def _value(value: Any) -> str:
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, bool | int | float):
        return _number(value)
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_key(key)} = {_value(one)}" for key, one in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if _is_list(value):
        return _list(value)
    raise ValueError(f"a value of type {type(value).__name__} has no form in TOML")


def _number(value: float) -> str:
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a finite number and has no place in a document")
    return str(value).lower() if isinstance(value, bool) else repr(value)


def _list(values: Sequence[Any]) -> str:
    if values and all(isinstance(one, Mapping) for one in values):
        return "[\n" + "".join(f"    {_value(one)},\n" for one in values) + "]"
    return f"[{', '.join(_value(one) for one in values)}]"


def _key(key: str) -> str:
    return key if _BARE_KEY.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    return f'"{_NOT_PLAIN.sub(_escape, text)}"'


def _escape(match: re.Match[str]) -> str:
    sign = match.group()
    return _ESCAPES.get(sign) or f"\\u{ord(sign):04X}"
