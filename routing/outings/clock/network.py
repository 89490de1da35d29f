"""The activity network: what must be done before what, earliest and latest times, slack.

Activities are nodes with durations; each begins once everything before it is done
and not before its own release (critical path method, activity on node). Numbers
work for one set of durations, shape (n,), and for many at once, shape (n, k).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from heapq import heapify, heappop, heappush

import numpy as np
from numpy.typing import NDArray

__all__ = ["ActivityNetwork", "Times", "critical_path", "time_network"]

Floats = NDArray[np.float64]

SLACK_ZERO_S = 1e-6
"""Slack below this is rounding [s]."""


@dataclass(frozen=True, kw_only=True, eq=False)
class ActivityNetwork:
    """Activities in an order in which each comes after all that it waits for.

    Parameters
    ----------
    ids
        The activities, in topological order; ties in the order they were given in.
    before
        For each activity the places in ``ids`` of those it waits for, ascending.
    """

    ids: tuple[str, ...]
    before: tuple[tuple[int, ...], ...]

    @classmethod
    def of(cls, before: Mapping[str, Iterable[str]]) -> "ActivityNetwork":
        """Make the network from {activity: those it waits for}.

        Raises
        ------
        ValueError
            Activities wait for each other, or for one that is not there.

        Examples
        --------
        >>> ActivityNetwork.of({"b": ["a"], "a": []}).ids
        ('a', 'b')
        """
        rank = {one: i for i, one in enumerate(before)}
        waits = {one: sorted(set(first)) for one, first in before.items()}
        unknown = sorted({x for first in waits.values() for x in first} - rank.keys())
        if unknown:
            raise ValueError(f"nothing has the id {unknown[0]!r}; name an activity of the network")
        followers: dict[str, list[str]] = {one: [] for one in before}
        for one, first in waits.items():
            for earlier in first:
                followers[earlier].append(one)
        left = {one: len(first) for one, first in waits.items()}
        ready = [rank[one] for one, count in left.items() if not count]
        heapify(ready)
        names = list(before)
        order: list[str] = []
        while ready:
            one = names[heappop(ready)]
            order.append(one)
            for following in followers[one]:
                left[following] -= 1
                if not left[following]:
                    heappush(ready, rank[following])
        if len(order) < len(before):
            stuck = [one for one in before if left[one]]
            raise ValueError(f"these wait for each other: {', '.join(stuck)}; take a wait off")
        at = {one: i for i, one in enumerate(order)}
        return cls(
            ids=tuple(order),
            before=tuple(tuple(sorted(at[x] for x in waits[one])) for one in order),
        )

    def __len__(self) -> int:
        return len(self.ids)

    @cached_property
    def index(self) -> dict[str, int]:
        """Place of each activity in ``ids``."""
        return {one: i for i, one in enumerate(self.ids)}

    @cached_property
    def after(self) -> tuple[tuple[int, ...], ...]:
        """For each activity those that wait for it, ascending."""
        found: list[list[int]] = [[] for _ in self.ids]
        for i, first in enumerate(self.before):
            for earlier in first:
                found[earlier].append(i)
        return tuple(tuple(one) for one in found)

    @cached_property
    def _ancestors(self) -> tuple[int, ...]:
        """For each activity all that come before it in any way, as bits."""
        found: list[int] = []
        for first in self.before:
            bits = 0
            for earlier in first:
                bits |= found[earlier] | (1 << earlier)
            found.append(bits)
        return tuple(found)

    def comes_before(self, first: str, second: str) -> bool:
        """Tell whether ``first`` is always done before ``second`` begins."""
        return bool(self._ancestors[self.index[second]] >> self.index[first] & 1)


@dataclass(frozen=True, kw_only=True, eq=False)
class Times:
    """When activities begin and end, in the order of the network, shape (n,) or (n, k) [s]."""

    earliest_start_s: Floats
    earliest_finish_s: Floats
    latest_start_s: Floats
    latest_finish_s: Floats

    @property
    def slack_s(self) -> Floats:
        """How much later each may begin without making the whole longer [s]."""
        return self.latest_start_s - self.earliest_start_s

    @property
    def finish_s(self) -> Floats:
        """When everything is done, shape () or (k,) [s]."""
        end: Floats = self.earliest_finish_s.max(axis=0)
        return end


def time_network(
    network: ActivityNetwork, durations_s: Floats, releases_s: Floats | None = None
) -> Times:
    """Return earliest and latest times; everything begins as early as it can.

    Parameters
    ----------
    durations_s
        How long each activity takes, finite and not negative, shape (n,) or (n, k) [s].
    releases_s
        Before this an activity does not begin, shape (n,); 0 by default [s].

    Raises
    ------
    ValueError
        A duration is negative or not finite, or there is not one for each activity.
    """
    if len(durations_s) != len(network):
        raise ValueError(f"{len(durations_s)} durations for {len(network)} activities; give each")
    if not bool(np.all(np.isfinite(durations_s) & (durations_s >= 0))):
        raise ValueError("every duration must be finite and not negative")
    start = np.zeros_like(durations_s, dtype=np.float64)
    if releases_s is not None:
        start += releases_s.reshape((-1,) + (1,) * (durations_s.ndim - 1))
    finish = np.empty_like(start)
    for i, first in enumerate(network.before):
        if first:
            start[i] = np.maximum(start[i], finish[list(first)].max(axis=0))
        finish[i] = start[i] + durations_s[i]
    late_finish = np.empty_like(start)
    late_start = np.empty_like(start)
    end = finish.max(axis=0)
    for i in range(len(network) - 1, -1, -1):
        later = network.after[i]
        late_finish[i] = late_start[list(later)].min(axis=0) if later else end
        late_start[i] = late_finish[i] - durations_s[i]
    return Times(
        earliest_start_s=start,
        earliest_finish_s=finish,
        latest_start_s=late_start,
        latest_finish_s=late_finish,
    )


def critical_path(network: ActivityNetwork, times: Times) -> tuple[str, ...]:
    """Return the chain of activities that the end waits for, the first one first.

    It goes back from the activity that ends last, each time to the one that
    was waited for longest, and stops where an activity waited for nothing or for
    its release alone. Ties go to the one that comes first in the network.

    Parameters
    ----------
    times
        For one set of durations, shape (n,).
    """
    if not len(network):
        return ()
    at = int(np.argmax(times.earliest_finish_s))
    way = [at]
    while network.before[at]:
        first: Sequence[int] = network.before[at]
        longest = max(first, key=lambda i: (times.earliest_finish_s[i], -i))
        if times.earliest_start_s[at] - times.earliest_finish_s[longest] > SLACK_ZERO_S:
            break
        way.append(longest)
        at = longest
    return tuple(network.ids[i] for i in reversed(way))
