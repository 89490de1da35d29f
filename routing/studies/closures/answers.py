"""The answers of a structure with things taken out: each state of its zones on its own ground."""

from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from routing.graph.build import build_graph, complete
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.search.engine import Engine
from routing.paths.tethers.kit import Kit, default_kit
from routing.studies.closures.closure import Closure
from routing.studies.closures.ground import Answer, Ground
from routing.studies.closures.leapfrog import LeapfrogGround
from routing.studies.closures.reel import ReelGround
from structures.elements import Condition
from structures.model import Structure
from structures.zones import active_zones

__all__ = ["Answers", "Asked", "Trip", "worksite_trips"]

_KEPT_GROUNDS: Final = 4
"""States of zones of which the reach graph is kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """From the best of some sites to another."""

    starts: tuple[str, ...]
    goal: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What all closures are held against."""

    structure: Structure
    situation: Situation
    protocol: Protocol
    kit: Kit | None = None
    """Reels, where the protocol is that of reels; by default two of the limits' length."""


def worksite_trips(structure: Structure) -> tuple[Trip, ...]:
    """Return the trip from any hatch to every worksite, by worksite id."""
    hatches = tuple(sorted(hatch.id for hatch in structure.hatches))
    return tuple(
        Trip(starts=hatches, goal=goal) for goal in sorted(one.id for one in structure.worksites)
    )


class Answers:
    """Answers with and without closures; what is searched once serves all.

    Parameters
    ----------
    asked
        Structure, situation and tether rules.
    engine
        As for every search.
    searches
        How many searches are going to be made, about.
    """

    def __init__(self, asked: Asked, *, engine: Engine = "auto", searches: int = 1) -> None:
        self.asked = asked
        self.situation = complete(asked.structure, asked.situation)
        self._engine = engine
        self._searches = searches
        self._grounds: OrderedDict[tuple[str, ...], Ground] = OrderedDict()
        self._last: tuple[Closure | None, Ground, frozenset[str]] | None = None
        self.ground()  # the intact one comes first and stays

    def best(self, trip: Trip, closure: Closure | None = None) -> tuple[str, Answer] | None:
        """Return where the best way of a trip begins and that way, None if there is none.

        A safe way is better than an unsafe one, then the quicker, then the lower start.
        """
        ground, closed = self._under(closure)
        pairs = ((start, trip.goal) for start in trip.starts)
        return _best((pair, ground.answer(*pair, closed)) for pair in pairs)

    def changes(
        self, trips: Sequence[Trip], closures: Sequence[Closure]
    ) -> dict[tuple[Closure, Trip], tuple[str, Answer] | None]:
        """Return `best` for every closure and trip where it may not be the intact one."""
        found: dict[tuple[Closure, Trip], tuple[str, Answer] | None] = {}
        intact = self.ground()
        together: list[tuple[Closure, frozenset[str]]] = []
        for closure in closures:
            ground, closed = self._under(closure)
            if ground is intact:
                together.append((closure, closed))
            else:  # at once: only a few of these are kept
                found.update({(closure, trip): self.best(trip, closure) for trip in trips})
        pairs = list(dict.fromkeys((start, trip.goal) for trip in trips for start in trip.starts))
        changed = intact.changes(pairs, [closed for _, closed in together])
        now: list[dict[tuple[str, str], Answer | None]] = [{} for _ in together]
        for (number, pair), answer in changed.items():
            now[number][pairs[pair]] = answer
        for (closure, _), new in zip(together, now, strict=True):
            for trip in trips:
                keys = [(start, trip.goal) for start in trip.starts]
                if any(key in new for key in keys):
                    answers = ((k, new[k] if k in new else intact.answer(*k)) for k in keys)
                    found[closure, trip] = _best(answers)
        return found

    def _under(self, closure: Closure | None) -> tuple[Ground, frozenset[str]]:
        """Return where a closure is looked at and what it closes there; the last one is kept."""
        if self._last is None or self._last[0] != closure:
            when, closed = ((), frozenset[str]()) if closure is None else self._split(closure)
            self._last = (closure, self.ground(when), closed)
        return self._last[1], self._last[2]

    def _split(self, closure: Closure) -> tuple[tuple[str, ...], frozenset[str]]:
        return closure.split(self.asked.structure)

    def ground(self, when: Iterable[str] = ()) -> Ground:
        """Return the ground with some more conditions in force, and nothing closed by these.

        Conditions that switch no zone on leave the ground as it is.
        """
        structure = self.asked.structure
        all_on = tuple(sorted({*self.situation.when, *when}))
        zones = tuple(zone.id for zone in active_zones(structure, all_on))
        if zones not in self._grounds:
            self._grounds[zones] = self._make_ground(all_on)
            while len(self._grounds) > _KEPT_GROUNDS:
                del self._grounds[list(self._grounds)[1]]
        return self._grounds[zones]

    @property
    def searched(self) -> int:
        """Searches made so far, on the grounds that are kept."""
        return sum(ground.searched for ground in self._grounds.values())

    def _make_ground(self, when: tuple[str, ...]) -> Ground:
        graph = self._graph(when)
        if self.asked.protocol == "reel":
            kit = self.asked.kit or default_kit(self.situation.limits)
            return ReelGround(graph, kit, engine=self._engine, searches=self._searches)
        return LeapfrogGround(graph, engine=self._engine, searches=self._searches)

    def _graph(self, when: tuple[str, ...]) -> ReachGraph:
        """Build the graph with zones on, but with only that closed which always is."""
        opened = [one.model_copy(update={"closes": ()}) for one in self.asked.structure.conditions]
        structure = _with_conditions(self.asked.structure, opened)
        situation = replace(self.situation, when=when)
        return build_graph(structure, situation)


def _best(
    answers: Iterable[tuple[tuple[str, str], Answer | None]],
) -> tuple[str, Answer] | None:
    """Return the best start and its answer; see `Answers.best`."""
    there = [(start, answer) for (start, _), answer in answers if answer is not None]
    return min(there, key=lambda one: (not one[1].safe, one[1].seconds, one[0]), default=None)


def _with_conditions(structure: Structure, conditions: Iterable[Condition]) -> Structure:
    """Return the structure with other conditions; made anew, so that no look-up goes along."""
    content = {name: getattr(structure, name) for name in Structure.model_fields}
    return Structure.model_construct(**{**content, "conditions": tuple(conditions)})
