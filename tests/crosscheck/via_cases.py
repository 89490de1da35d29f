"""The reference for via sites: enumeration of every legal walk with its complete state and leg.

On top of `search_cases`: a walk has a leg, and whether it stands at a socket that it
entered on this leg. There nothing can be done but meet the via site; a socket that the
leg does not end at is not entered. Going back along the lay is always allowed.
"""

import heapq
import itertools
import random
from collections.abc import Iterator

from tests.crosscheck.search_cases import (
    Case,
    TooManyWalksError,
    Walk,
    _moves,
    _returns,
    _takes,
)

__all__ = ["Place", "enumerate_via_walks", "make_vias", "via_actions"]

MOST_WALKS = 30_000

# (leg, whether a socket was entered on this leg, complete state)
Place = tuple[int, bool, Walk]


def via_actions(
    case: Case, vias: list[frozenset[int]], place: Place
) -> Iterator[tuple[float, Place]]:
    leg, entered, walk = place
    here = walk[0][-1][3][-1]
    if leg < len(vias) and here in vias[leg]:
        yield 0.0, (leg + 1, False, walk)
    if entered:
        return
    for cost, after in _moves(case, walk):
        lay, before = after[0][-1][3], walk[0][-1][3]
        if len(lay) < len(before) or lay[-1] not in case.sockets:
            yield cost, (leg, False, after)
        elif leg == len(vias) or lay[-1] in vias[leg]:
            yield cost, (leg, True, after)
    for cost, after in itertools.chain(_returns(case, walk), _takes(case, walk)):
        yield cost, (leg, False, after)


def enumerate_via_walks(case: Case, vias: list[frozenset[int]]) -> dict[int, float]:
    """Least cost to every node after all via sites, over all legal walks."""
    best: dict[int, float] = {}
    count = itertools.count()
    first: Place = (0, False, case.start)
    heap = [(0.0, next(count), first)]
    known = {first: 0.0}
    done = 0
    while heap:
        cost, _, place = heapq.heappop(heap)
        if cost > known[place]:
            continue
        done += 1
        if done > MOST_WALKS:
            raise TooManyWalksError
        leg, _, walk = place
        if leg == len(vias):
            best.setdefault(walk[0][-1][3][-1], cost)
            if len(best) == case.nodes:
                break
        for extra, after in via_actions(case, vias, place):
            if cost + extra < known.get(after, float("inf")):
                known[after] = cost + extra
                heapq.heappush(heap, (cost + extra, next(count), after))
    return best


def make_vias(rng: random.Random, case: Case) -> list[frozenset[int]]:
    """One to three via sites of one or two grips each."""
    legs = rng.choice((1, 1, 2, 2, 3))
    return [frozenset(rng.sample(range(case.nodes), rng.choice((1, 1, 2)))) for _ in range(legs)]
