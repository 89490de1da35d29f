"""Numbers of things in words: one place that knows of one and of several."""

from typing import Final

__all__ = ["counted"]

_UNLIKE: Final = {"person": "people"}


def counted(number: int, what: str) -> str:
    """Return a number with what is counted, in singular or plural.

    Parameters
    ----------
    number
        How many.
    what
        The word for one of it.

    Examples
    --------
    >>> counted(1, "hand-over"), counted(0, "transfer"), counted(2, "person")
    ('1 hand-over', '0 transfers', '2 people')
    """
    return f"{number} {what if number == 1 else _UNLIKE.get(what, f'{what}s')}"
