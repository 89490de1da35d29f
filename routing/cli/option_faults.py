"""What an option was given wrong, in our own words: the value and what is allowed.

What the option parser says of it changes from version to version, and is about
its own types; what is allowed stands in the command's own signature.
"""

import math
from collections.abc import Callable
from enum import Enum
from typing import Annotated, Any, Final, get_args, get_origin, get_type_hints

__all__ = ["finite", "option_fault"]

_NUMBERS: Final[dict[Any, str]] = {int: "a whole number", float: "a number"}


def finite(value: float | None) -> float | None:
    """Refuse what is no number; some versions of the parser let it past a range.

    Raises
    ------
    typer.BadParameter
        For NaN.
    """
    if value is not None and math.isnan(value):
        import typer

        raise typer.BadParameter("not a number")
    return value


def option_fault(
    command: Callable[..., Any], parameter: str, option: str, value: Any = None
) -> str | None:
    """Return what is wrong with a value, ``None`` where the signature does not tell.

    Parameters
    ----------
    command
        The function of the command.
    parameter
        Its parameter that was given wrong.
    option
        As it is typed, for instance ``--count``.
    value
        What was typed, if that is known.
    """
    hint = get_type_hints(command, include_extras=True).get(parameter)
    if get_origin(hint) is not Annotated:
        return None
    kind, info, *_ = get_args(hint)
    allowed = _allowed(kind, info)
    if allowed is None:
        return None
    found = "what was given" if value is None else repr(value)
    return f"option {option}: {found} is not allowed; give {allowed}."


def _allowed(kind: Any, info: Any) -> str | None:
    """Return what may be given, in words."""
    for one in (kind, *get_args(kind)):
        if isinstance(one, type) and issubclass(one, Enum):
            choices = [str(choice.value) for choice in one]
            return f"one of {', '.join(choices)}" if len(choices) > 1 else choices[0]
        if one in _NUMBERS:
            return f"{_NUMBERS[one]}{_range(info.min, info.max)}"
    return None


def _range(least: float | None, most: float | None) -> str:
    if least is None:
        return "" if most is None else f" of at most {most:g}"
    return f" of at least {least:g}" if most is None else f" from {least:g} to {most:.10g}"
