"""Of things that open a way together: those of which none can be left out."""

from collections.abc import Callable, Sequence
from typing import TypeVar

__all__ = ["all_needed"]

Thing = TypeVar("Thing")


def all_needed(
    things: Sequence[Thing], opens: Callable[[Sequence[Thing]], bool]
) -> tuple[Thing, ...]:
    """Return things that open together, and do not with any one of them left out.

    For ``k`` of ``n`` things it asks about ``2 k log2(n / k)`` times, in halves.

    Parameters
    ----------
    things
        They open together, in order; of several answers that are right the one that
        needs the last of them least is given.
    opens
        Whether some of them open; more never shut what fewer open.

    Examples
    --------
    >>> all_needed("abcdef", lambda some: {"b", "e"} <= {*some})
    ('b', 'e')
    >>> all_needed("abcdef", lambda some: True)
    ()
    """
    return tuple(_needed((), things, opens, known=False))


def _needed(
    kept: Sequence[Thing],
    things: Sequence[Thing],
    opens: Callable[[Sequence[Thing]], bool],
    *,
    known: bool,
) -> list[Thing]:
    """Return those of the things that are needed beside what is kept.

    ``known`` says that what is kept was found not to open.
    """
    if not known and opens(kept):
        return []
    if len(things) <= 1:
        return [*things]
    first, second = things[: len(things) // 2], things[len(things) // 2 :]
    of_second = _needed((*kept, *first), second, opens, known=False)
    of_first = _needed((*kept, *of_second), first, opens, known=not of_second)
    return [*of_first, *of_second]
