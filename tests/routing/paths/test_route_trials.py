"""Trying things in halves finds just what trying them one by one does."""

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from routing.paths.no_route.trials import _alone


@given(
    count=st.integers(0, 12),
    needed=st.lists(st.frozensets(st.integers(0, 11), min_size=1, max_size=3), max_size=5),
)
def test_halves_find_what_one_by_one_finds(count: int, needed: list[frozenset[int]]) -> None:
    """Each of some sets opens the way once all of it is gone; to take away more closes nothing."""
    asked: list[tuple[int, ...]] = []

    def seconds_without(some: Sequence[int]) -> float | None:
        asked.append(tuple(some))
        opening = [one for one in needed if one <= set(some)]
        return None if not opening else 100.0 - max(sum(one) for one in opening)

    things = list(range(count))
    found = list(_alone(things, seconds_without))
    one_by_one = [(thing, seconds_without([thing])) for thing in things]
    assert found == [(thing, seconds) for thing, seconds in one_by_one if seconds is not None]


def test_nothing_is_asked_twice_and_little_where_nothing_opens() -> None:
    asked: list[tuple[int, ...]] = []

    def nothing_opens(some: Sequence[int]) -> float | None:
        asked.append(tuple(some))
        return None

    assert list(_alone(range(12), nothing_opens)) == []
    assert asked == [tuple(range(6)), tuple(range(6, 12))]
