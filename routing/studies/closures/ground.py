"""One state of the structure, and every route on it with more elements out of use.

What is searched once serves all closures: an optimum that avoids what is closed
stays the optimum, because a closure only takes ways away; and what remains to a
goal on the intact structure is never more than with something closed, so it
leads the search for all others.
"""

from abc import ABC, abstractmethod
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import chain

from routing.graph.reach_graph import Flags, GripKind, Indices, ReachGraph
from routing.graph.sites import SitePlaces, site_grips
from routing.paths.answers.results import Margins, Protocol
from routing.paths.answers.tether_checks import Case, anchor_findings
from routing.paths.course import Course
from routing.paths.search.engine import Engine, choose_engine
from structures.elements import TetherPoint

__all__ = ["Answer", "Ground"]


@dataclass(slots=True, kw_only=True)
class Answer:
    """The best way from one site to another, as far as closures ask.

    Nobody changes one, but a frozen one would take four times as long to make, and a
    study makes hundreds at a time.
    """

    seconds: float
    transfers: int
    chain: tuple[str, ...]
    """Reel: the tether points stayed at, in order. Leapfrog: the elements held, in order."""
    held: tuple[str, ...]
    """The elements that hands hold, in order, each as often as the way comes back to it."""
    sites: tuple[str, str]
    """Where it begins and where it ends."""
    blocks: tuple[str, ...]
    """Why it is not safe, in a line each; empty if nothing blocks."""
    grips: Indices = field(compare=False)
    """The grips held, in order; not copied, since most answers are never asked for them."""

    @property
    def rests_on(self) -> frozenset[str]:
        """All elements that the way needs: what hands hold, stays, and the sites themselves."""
        return frozenset((*self.held, *self.chain, *self.sites))

    @property
    def safe(self) -> bool:
        """Whether nothing blocks."""
        return not self.blocks


class Ground(ABC):
    """All routes on one reach graph under one tether protocol.

    Parameters
    ----------
    graph
        With everything open that closures will close.
    engine
        As for every search; ``auto`` compiles where the study is big enough.
    searches
        How many searches the study is going to make, about.
    """

    protocol: Protocol

    def __init__(self, graph: ReachGraph, *, engine: Engine = "auto", searches: int = 1) -> None:
        self.graph = graph
        self.engine = choose_engine(engine, moves=len(graph.moves), searches=searches)
        self.searched = 0
        """Searches made so far, those on the intact structure included."""
        self._intact: dict[tuple[str, str], Answer | None] = {}
        self._resting: dict[tuple[str, str], frozenset[str]] = {}
        self._places: dict[str, SitePlaces] = {}
        self._checked: dict[Hashable, tuple[str, ...]] = {}

    def answer(self, start: str, goal: str, closed: frozenset[str] = frozenset()) -> Answer | None:
        """Return the best way from site to site with some elements closed, None if there is none.

        Raises
        ------
        UnknownIdError
            A site does not exist.
        """
        key = (start, goal)
        if key not in self._intact:
            self._intact[key] = self._solve(start, goal, frozenset())
        intact = self._intact[key]
        if intact is None or closed.isdisjoint(self._rests_on(key)):
            return intact
        return self._solve(start, goal, closed)

    def _rests_on(self, key: tuple[str, str]) -> frozenset[str]:
        """Return what the intact way between two sites needs, nothing if there is none."""
        if key not in self._resting:
            intact = self._intact[key]
            self._resting[key] = frozenset() if intact is None else intact.rests_on
        return self._resting[key]

    def changes(
        self, pairs: Sequence[tuple[str, str]], closures: Sequence[frozenset[str]]
    ) -> dict[tuple[int, int], Answer | None]:
        """Return what closures change, by number of closure and of pair.

        What is not in it is the intact answer, which does not rest on the closure.

        Parameters
        ----------
        pairs
            Ids of start and goal.
        closures
            Closed elements each.
        """
        open_ = [frozenset[str]()]
        missing = [pair for pair in dict.fromkeys(pairs) if pair not in self._intact]
        at_first = self._solve_all(missing, open_, [(0, i) for i in range(len(missing))])
        self._intact.update(zip(missing, at_first, strict=True))
        resting: dict[str, list[int]] = {}
        for number, pair in enumerate(pairs):
            for one in self._rests_on(pair):
                resting.setdefault(one, []).append(number)
        cases = [
            (closure, pair)
            for closure, closed in enumerate(closures)
            for pair in _merged([resting[one] for one in closed if one in resting])
        ]
        return dict(zip(cases, self._solve_all(pairs, closures, cases), strict=True))

    def _solve_all(
        self,
        pairs: Sequence[tuple[str, str]],
        closures: Sequence[frozenset[str]],
        cases: Sequence[tuple[int, int]],
    ) -> list[Answer | None]:
        """Return the best way of each case: numbers of closure and pair."""
        return [self._solve(*pairs[pair], closures[closure]) for closure, pair in cases]

    def _solve(self, start: str, goal: str, closed: frozenset[str]) -> Answer | None:
        sources, goals = self.site(start, closed), self.site(goal, closed)
        if not len(sources) or not len(goals):
            return None
        self.searched += 1
        return self._search((start, goal), sources, goals, closed)

    @abstractmethod
    def _search(
        self, key: tuple[str, str], sources: Indices, goals: Indices, closed: frozenset[str]
    ) -> Answer | None:
        """Return the best way; ``key`` names what bounds may be kept for."""

    def site(self, site_id: str, closed: frozenset[str]) -> Indices:
        """Return the grips of a site that are not closed."""
        if site_id not in self._places:
            self._places[site_id] = site_grips(self.graph, site_id)
        grips = self._places[site_id].grips
        if site_id in closed and isinstance(self.graph.structure.by_id.get(site_id), TetherPoint):
            return grips[:0]
        if not closed:
            return grips
        ids = self.graph.grips.element_ids
        return grips[[ids[grip] not in closed for grip in grips.tolist()]]

    def closed_grips(self, closed: frozenset[str]) -> Sequence[int]:
        """Return the grips on closed elements, ascending."""
        on = self.graph.grips.of_element
        return _merged([on[one] for one in closed if one in on])

    @cached_property
    def sockets(self) -> Flags:
        """Which grips are sockets, shape (n,)."""
        flags: Flags = self.graph.grips.kind == GripKind.SOCKET
        return flags

    def _blocks(self, key: Hashable, course: Callable[[], Course]) -> tuple[str, ...]:
        """Return what the full check of a route would say against its anchors.

        The other checks that can block cannot fail on a way that was searched:
        line left and body clearance are rules of the search itself.

        Parameters
        ----------
        key
            All that these checks look at; ways that share it are checked once.
        course
            Makes the course.
        """
        if key not in self._checked:
            case = Case(
                graph=self.graph, course=course(), margins=Margins(), protocol=self.protocol
            )
            found = anchor_findings(case)
            blocks = tuple(one.message for one in found if one.severity == "blocks")
            self._checked[key] = blocks
        return self._checked[key]


def _merged(lists: Sequence[Sequence[int]]) -> Sequence[int]:
    """Return all numbers of ascending lists once, ascending; mostly there is one list."""
    return lists[0] if len(lists) == 1 else sorted(set(chain.from_iterable(lists)))
