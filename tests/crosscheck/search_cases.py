"""Random small tether cases, and the reference: enumeration of every legal walk.

The reference knows nothing of labels or bounds: it does uniform-cost search over
(stack of stays with their whole lays, tethers carried, tethers staged) and allows every
action of the rules at every moment: a move forward, a move back along the lay, taking the
next tether, taking the last one again. All numbers are multiples of a quarter, so sums are
exact and costs can be compared exactly.
"""

import heapq
import itertools
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from routing.paths.search.arrays import Network
from routing.paths.tethers.search import TetherProblem
from routing.paths.tethers.stack import Stay, Tether, TetherRules, TetherState
from routing.paths.tethers.steps import Hooks, TetherGround

__all__ = [
    "Case",
    "TooManyWalksError",
    "Walk",
    "enumerate_walks",
    "line_out",
    "make_case",
    "problem_of",
    "random_from",
    "walk_actions",
]

MOST_WALKS = 10_000
"""Cases with more complete states than this are left out: they would take minutes."""

# A walk's state: ((point, type, staged, lay), ...), carried, staged.
Walk = tuple[tuple[Any, ...], tuple[int, ...], tuple[tuple[int, int], ...]]


class TooManyWalksError(Exception):
    pass


@dataclass(frozen=True)
class Case:
    nodes: int
    arcs: dict[tuple[int, int], tuple[float, float]]
    hooks: dict[tuple[int, int], float]
    usable: tuple[float, ...]
    reserve: float
    transfer: float
    sockets: frozenset[int]
    base: Walk
    base_out: float
    """Distance from the first stay to the first grip."""
    start: Walk

    @cached_property
    def arcs_from(self) -> dict[int, list[tuple[int, float, float]]]:
        """By tail: head, cost and way of each move, in the order of ``arcs``."""
        found: dict[int, list[tuple[int, float, float]]] = {}
        for (tail, head), (cost, way) in self.arcs.items():
            found.setdefault(tail, []).append((head, cost, way))
        return found

    @cached_property
    def hooks_at(self) -> dict[int, list[tuple[int, float]]]:
        """By grip: point and distance of each hook, in the order of ``hooks``."""
        found: dict[int, list[tuple[int, float]]] = {}
        for (point, grip), distance in self.hooks.items():
            found.setdefault(grip, []).append((point, distance))
        return found


def line_out(case: Case, stack: tuple[Any, ...], level: int) -> float:
    point, _, _, lay = stack[level]
    out = case.base_out if level == 0 else case.hooks[point, lay[0]]
    for arc in itertools.pairwise(lay):
        out += case.arcs[arc][1]
    return out


def _is_old(start: Walk, stack: tuple[Any, ...]) -> bool:
    """Whether the person is on a lay that was there at the start."""
    depth = len(stack)
    if depth > len(start[0]) or stack[:-1] != start[0][: depth - 1]:
        return False
    old, now = start[0][depth - 1], stack[-1]
    return bool(old[:3] == now[:3] and old[3][: len(now[3])] == now[3])


def _moves(case: Case, walk: Walk) -> Iterator[tuple[float, Walk]]:
    """Forward along any move, or back along the lay."""
    stack, carried, staged = walk
    point, tether, is_staged, lay = stack[-1]
    out = line_out(case, stack, len(stack) - 1)
    below, usable = stack[:-1], case.usable[tether]
    for head, cost, way in case.arcs_from.get(lay[-1], ()):
        if out + way <= usable:
            yield cost, ((*below, (point, tether, is_staged, (*lay, head))), carried, staged)
    if len(lay) > 1 and (lay[-1], lay[-2]) in case.arcs:
        back = (*below, (point, tether, is_staged, lay[:-1]))
        yield case.arcs[lay[-1], lay[-2]][0], (back, carried, staged)


def _returns(case: Case, walk: Walk) -> Iterator[tuple[float, Walk]]:
    """Take the last tether again, back at the grip where this one was hooked on."""
    stack, carried, staged = walk
    point, tether, is_staged, lay = stack[-1]
    if len(lay) > 1 or len(stack) == 1:
        return
    if is_staged:
        staged = tuple(sorted((*staged, (point, tether))))
    else:
        carried = tuple(n + (t == tether) for t, n in enumerate(carried))
    yield case.transfer, (stack[:-1], carried, staged)


def _takes(case: Case, walk: Walk) -> Iterator[tuple[float, Walk]]:
    """Hook the next tether to a point near by, carried or staged there."""
    stack, carried, staged = walk
    here = stack[-1][3][-1]
    hooks = case.hooks_at.get(here)
    if hooks is None:
        return
    out = line_out(case, stack, len(stack) - 1)
    for point, distance in hooks:
        if out + distance > case.usable[stack[-1][1]]:
            continue
        for new, usable in enumerate(case.usable):
            if carried[new] and distance <= usable:
                fewer = tuple(n - (t == new) for t, n in enumerate(carried))
                yield case.transfer, ((*stack, (point, new, False, (here,))), fewer, staged)
            if (point, new) in staged and distance <= usable:
                rest = list(staged)
                rest.remove((point, new))
                above = (*stack, (point, new, True, (here,)))
                yield case.transfer, (above, carried, tuple(rest))


def walk_actions(case: Case, start: Walk, walk: Walk) -> Iterator[tuple[float, Walk]]:
    stack = walk[0]
    lay = stack[-1][3]
    if lay[-1] in case.sockets and len(lay) > 1 and not _is_old(start, stack):
        return
    yield from _moves(case, walk)
    yield from _returns(case, walk)
    yield from _takes(case, walk)


def enumerate_walks(case: Case) -> dict[int, float]:
    """Least cost to every node over all legal walks."""
    best: dict[int, float] = {}
    count = itertools.count()
    heap = [(0.0, next(count), case.start)]
    done = set()
    while heap:
        cost, _, walk = heapq.heappop(heap)
        if walk in done:
            continue
        done.add(walk)
        if len(done) > MOST_WALKS:
            raise TooManyWalksError
        best.setdefault(walk[0][-1][3][-1], cost)
        if len(best) == case.nodes:
            break
        for extra, after in walk_actions(case, case.start, walk):
            if after not in done:
                heapq.heappush(heap, (cost + extra, next(count), after))
    return best


def random_from(number: int) -> random.Random:
    return random.Random(number)


def _tree_arcs(rng: random.Random, nodes: int) -> dict[tuple[int, int], tuple[float, float]]:
    arcs = {}
    # A tree, so that most grips are joined, and about as many moves again for other ways.
    joined = {(rng.randrange(node), node) for node in range(1, nodes)}
    spare = sorted(set(itertools.combinations(range(nodes), 2)) - joined)
    joined |= set(rng.sample(spare, min(len(spare), rng.randint(1, nodes))))
    for i, j in sorted(joined):
        way = rng.randint(4, 12) / 4
        for arc in ((i, j), (j, i)):
            if rng.random() < 0.95:
                arcs[arc] = (rng.randint(1, 16) / 4, way)
    return arcs


def _rail_arcs(rng: random.Random, nodes: int) -> dict[tuple[int, int], tuple[float, float]]:
    """A rail whose moves over two steps cost what the two cost, and a few other moves."""
    steps = [(rng.randint(1, 6) / 4, rng.randint(1, 5) / 4) for _ in range(nodes - 1)]
    arcs = {}
    for i, j in itertools.combinations(range(nodes), 2):
        if j - i <= 2:
            cost, way = (sum(column) for column in zip(*steps[i:j], strict=True))
            arcs[i, j] = arcs[j, i] = (cost, way)
    for _ in range(rng.randint(0, 2)):
        i, j = rng.sample(range(nodes), 2)
        arcs[i, j] = arcs[j, i] = (rng.randint(1, 16) / 4, rng.randint(1, 12) / 4)
    return arcs


def make_case(rng: random.Random, *, rail: bool = False) -> Case:
    nodes = rng.randint(4, 8)
    arcs = _rail_arcs(rng, nodes) if rail else _tree_arcs(rng, nodes)
    points = rng.randint(1, 2 if rail else 4)
    hooks = {}
    for point in range(points):
        for grip in rng.sample(range(nodes), rng.randint(1, 2 if rail else 3)):
            hooks[point, grip] = rng.randint(0, 3) / 4
    types = rng.randint(1, 2)
    usable = tuple(rng.randint(8, 22) / 4 for _ in range(types))
    carried = [0] * types
    for _ in range(rng.randint(0, 3)):
        carried[rng.randrange(types)] += 1
    staged = tuple(
        sorted((rng.randrange(points), rng.randrange(types)) for _ in range(rng.randint(0, 2)))
    )
    grip = rng.randrange(nodes)
    sockets = frozenset(rng.sample(range(nodes), rng.choice((0, 0, 0, 1, 1))))
    base_type = rng.randrange(types)
    base = (((9, base_type, False, (grip,)),), tuple(carried), staged)
    case = Case(
        nodes=nodes,
        arcs=arcs,
        hooks=hooks,
        usable=usable,
        reserve=rng.choice((0.0, 0.5)),
        transfer=rng.choice((0.25, 1.0, 4.0)),
        sockets=sockets,
        base=base,
        base_out=rng.choice((0.0, 0.25)),
        start=base,
    )
    start = base
    for _ in range(rng.choice((0, 0, 3, 6, 9))):
        after = [walk for _, walk in walk_actions(case, base, start)]
        if not after:
            break
        # Rather forward than back, or the stacks stay short.
        start = max(rng.sample(after, min(2, len(after))), key=lambda walk: len(str(walk)))
    return replace(case, start=start)


def problem_of(case: Case) -> TetherProblem:
    stays = []
    for level, (point, tether, staged, lay) in enumerate(case.start[0]):
        cut = (*case.start[0][:level], (point, tether, staged, lay))
        payouts = tuple(
            line_out(case, (*cut[:-1], (point, tether, staged, lay[: n + 1])), level)
            for n in range(len(lay))
        )
        stays.append(Stay(point=point, tether=tether, staged=staged, grips=lay, payout_m=payouts))
    network = Network.of_arcs(
        case.nodes,
        [(tail, head, cost) for (tail, head), (cost, _) in case.arcs.items()],
        terminal=sorted(case.sockets),
    )
    listed = list(case.arcs.values())
    ordered = sorted(case.hooks)
    return TetherProblem(
        ground=TetherGround(
            network=network,
            way_m=np.array([listed[move][1] for move in network.move], dtype=np.float64),
            hooks=Hooks(
                point=np.array([point for point, _ in ordered], dtype=np.int64),
                grip=np.array([grip for _, grip in ordered], dtype=np.int64),
                distance_m=np.array([case.hooks[key] for key in ordered], dtype=np.float64),
            ),
        ),
        rules=TetherRules(
            tethers=tuple(
                Tether(name=f"T{n}", length_m=usable + case.reserve)
                for n, usable in enumerate(case.usable)
            ),
            reserve_m=case.reserve,
            transfer_s=case.transfer,
        ),
        starts=(TetherState(stack=tuple(stays), carried=case.start[1], staged=case.start[2]),),
    )
