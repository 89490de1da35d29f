"""Two people's lines over an outing followed piece by piece, by brute force.

It shares no code with `routing.outings.lines.laid_lines` and `line_crossings`: it walks the
grips of each course with a pile of its own, measures distances between points
sampled along the pieces, and whenever a piece is taken up looks for one on top of it.
"""

from itertools import pairwise
from typing import Any, NamedTuple

import networkx as nx
import numpy as np
from scipy.spatial.distance import cdist

from routing.outings.plan import PlannedOuting
from routing.outings.translations import Trip

STEP_M = 0.02
"""Points along the pieces are no farther apart."""


class Change(NamedTuple):
    start_s: float
    end_s: float
    person: str
    laid: bool
    """Else taken up."""
    piece: tuple[Any, Any]
    activity: str


class Lying(NamedTuple):
    change: Change
    points_m: np.ndarray
    spare_m: float


def tangles(planned: PlannedOuting, apart_m: float) -> set[tuple[str, str]]:
    """Return (person, activity) of every taking up of a line with another on top of it."""
    changes = sorted(
        (one for person in planned.outing.people for one in _changes(planned, person.id)),
        key=lambda one: round(one.end_s if one.laid else one.start_s, 5),
    )
    lines: dict[str, list[Lying]] = {person.id: [] for person in planned.outing.people}
    found = set()
    for change in changes:
        line = lines[change.person]
        if change.laid:
            line.append(_lying(planned, change))
            continue
        assert line[-1].change.piece == change.piece
        for person, other in lines.items():
            if person == change.person:
                continue
            crossed = _crossed(line, other, apart_m)
            later = [
                j
                for i, j in crossed
                if i == len(line) - 1 and other[j].change.start_s >= line[-1].change.end_s - 1e-6
            ]
            if later:
                found.add((change.person, change.activity))
        line.pop()
    return found


def _crossed(line: list[Lying], other: list[Lying], apart_m: float) -> set[tuple[int, int]]:
    """Return the pairs of pieces too near, but those that hang together with the start."""
    grid = nx.Graph()
    for i, one in enumerate(line):
        for j, two in enumerate(other):
            gap_m = float(cdist(one.points_m, two.points_m).min()) - one.spare_m - two.spare_m
            if gap_m <= apart_m:
                grid.add_node((i, j))
    for i, j in grid.nodes:
        for k in (-1, 0, 1):
            for m in (-1, 0, 1):
                if (k, m) != (0, 0) and (i + k, j + m) in grid:
                    grid.add_edge((i, j), (i + k, j + m))
    begun = set()
    if (0, 0) in grid and np.linalg.norm(line[0].points_m[0] - other[0].points_m[0]) <= apart_m:
        begun = nx.node_connected_component(grid, (0, 0))
    return set(grid.nodes) - set(begun)


def _lying(planned: PlannedOuting, change: Change) -> Lying:
    graph = planned.ground.graph(change.person, None, ())
    first, second = change.piece
    structure = planned.ground.structure
    end_m = graph.grips.position_m[second]
    begin_m = (
        np.array(structure.by_id[first].position_m)
        if isinstance(first, str)
        else graph.grips.position_m[first]
    )
    gap_m = float(np.linalg.norm(end_m - begin_m))
    spare_m = 0.0
    if not isinstance(first, str):
        (move,) = [
            m
            for m in range(graph.moves.indptr[first], graph.moves.indptr[first + 1])
            if graph.moves.head[m] == second
        ]
        spare_m = np.sqrt(max(float(graph.moves.way_m[move]) ** 2 - gap_m**2, 0.0)) / 2
    shares = np.linspace(0, 1, max(2, int(gap_m / STEP_M) + 2))[:, None]
    return Lying(change, begin_m + shares * (end_m - begin_m), spare_m)


def _changes(planned: PlannedOuting, person: str) -> list[Change]:
    """Follow one person's courses grip by grip."""
    pile = _Pile(planned, person)
    for act in planned.schedule.plan.acts_of(person):
        way = f"{act.id}@{person}"
        for activity, trip in (
            (way, planned.leg.trips.get(way)),
            (act.id, planned.leg.laying.get((act.id, person))),
        ):
            if trip is not None:
                pile.follow(trip, activity)
    assert all(one.start_s <= two.end_s + 1e-6 for one, two in pairwise(pile.found))
    return pile.found


class _Pile:
    def __init__(self, planned: PlannedOuting, person: str) -> None:
        self.planned = planned
        self.person = person
        self.found: list[Change] = []
        self.pile: list[tuple[Any, Any]] = []
        self.stays: list[int] = []
        self.now_s = self.before_s = 0.0
        self.activity = ""

    def follow(self, trip: Trip, activity: str) -> None:
        course, schedule = trip.course, self.planned.schedule
        assert course is not None
        graph = self.planned.ground.graph(self.person, trip.carry, trip.when)
        took_s = schedule.end_s(activity) - schedule.start_s(activity)
        slower = took_s / trip.seconds if trip.seconds else 1.0
        self.now_s = self.before_s = schedule.start_s(activity)
        self.activity = activity
        for at, grip in enumerate(course.grips):
            if at:
                self.now_s += slower * float(graph.moves.seconds[course.moves[at - 1]])
                self.step(course.grips[at - 1], grip)
            self.before_s = self.now_s
            for one in course.anchorings:
                if one.at == at and not (one.starts and self.pile):
                    self.now_s += slower * one.seconds
                    self.hook(one.element_id, grip, returns=one.returns)
                    self.before_s = self.now_s

    def step(self, last: int, grip: int) -> None:
        if self.pile[-1] == (grip, last) and len(self.pile) > self.stays[-1] + 1:
            self.take()
        else:
            self.lay((last, grip))

    def hook(self, point: str, grip: int, *, returns: bool) -> None:
        if returns:
            assert len(self.pile) == self.stays.pop() + 1
            self.take()
        else:
            self.stays.append(len(self.pile))
            self.lay((point, grip))

    def lay(self, piece: tuple[Any, Any]) -> None:
        self.pile.append(piece)
        self.note(piece, laid=True)

    def take(self) -> None:
        self.note(self.pile.pop(), laid=False)

    def note(self, piece: tuple[Any, Any], *, laid: bool) -> None:
        times = (self.before_s, self.now_s)
        self.found.append(Change(*times, self.person, laid, piece, self.activity))
