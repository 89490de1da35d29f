"""Many searches in step: what they ask in a round is answered in one go.

A search looks at a few things at a time, and for so few the calls themselves
are most of the work. So a search is a generator that yields what it asks and
is sent the answer; what all of them wait for is put together.
"""

from collections.abc import Callable, Generator, Sequence
from typing import TypeAlias, TypeVar

__all__ = ["Search", "alone", "in_step"]

_Ask = TypeVar("_Ask")
_Answer = TypeVar("_Answer")
_Found = TypeVar("_Found")

Search: TypeAlias = Generator[_Ask, _Answer, _Found]
"""Yields what it asks, is sent the answer, returns what it found."""


def in_step(
    searches: Sequence[Generator[_Ask, _Answer, _Found]],
    answer: Callable[[Sequence[_Ask]], Sequence[_Answer]],
) -> list[_Found]:
    """Run searches to their ends, round by round, and return what they found, in order.

    Parameters
    ----------
    searches
        Not begun yet.
    answer
        Answers all that is asked in one round, in order.
    """
    found: dict[int, _Found] = {}
    waiting: dict[int, _Ask] = {}

    def go_on(number: int, sent: _Answer | None) -> None:
        search = searches[number]
        try:
            waiting[number] = next(search) if sent is None else search.send(sent)
        except StopIteration as end:
            waiting.pop(number, None)
            found[number] = end.value

    for number in range(len(searches)):
        go_on(number, None)
    while waiting:
        numbers = list(waiting)
        for number, sent in zip(numbers, answer(list(waiting.values())), strict=True):
            go_on(number, sent)
    return [found[number] for number in range(len(searches))]


def alone(
    search: Generator[_Ask, _Answer, _Found],
    answer: Callable[[Sequence[_Ask]], Sequence[_Answer]],
) -> _Found:
    """Run one search to its end."""
    return in_step([search], answer)[0]
