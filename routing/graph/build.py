"""Build the reach graphs of a structure, each in a situation."""

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from routing.graph.bodies import fit_bodies
from routing.graph.grips import Places, place_grips
from routing.graph.moves import find_moves
from routing.graph.reach_graph import Grips, ReachGraph
from routing.graph.situation import Situation
from routing.graph.surroundings import Surroundings, survey
from routing.limits import Limits
from structures.elements import Handhold, Handrail, Hatch, Socket, TetherPoint
from structures.model import Structure
from structures.zones import closed_by

if TYPE_CHECKING:
    from routing.graph.hooks import HookPlaces
    from routing.graph.known_room import KnownRoom

__all__ = ["CLOSABLE", "GraphBuilder", "build_graph", "complete"]

CLOSABLE = (Handrail, Handhold, Hatch, Socket, TetherPoint)
"""What can be closed."""


def build_graph(structure: Structure, situation: Situation) -> ReachGraph:
    """Build the graph of grips and moves for one person, load and state of the structure.

    The same structure with its elements in another order gives the same arrays.

    Parameters
    ----------
    structure
        With references checked.
    situation
        Who moves, with what, under which conditions and closures.

    Returns
    -------
    ReachGraph
        Its situation names what conditions close as well.

    Raises
    ------
    UnknownIdError
        A condition or a closed element that the situation names does not exist.
    """
    return GraphBuilder(structure).build(situation)


class GraphBuilder:
    """Builds graphs of one structure in several situations: what these share is made once.

    An outing asks for a graph for every person, load and set of conditions. Grips do not
    depend on the load; what stands round them depends only on whether there is one; two
    loads of one size have the same moves; and a hook reaches its tether point past whatever
    body is at the grip.
    """

    def __init__(self, structure: Structure) -> None:
        self.structure = structure
        self._places: dict[tuple[Limits, float, tuple[str, ...]], Places] = {}
        self._around: dict[tuple[tuple[str, ...], bool], Surroundings] = {}
        self._alike: dict[tuple[object, ...], ReachGraph] = {}
        self._hooks: dict[tuple[object, ...], HookPlaces] = {}
        self._expected: dict[tuple[object, ...], list[Situation]] = {}
        self._room: KnownRoom | None = None

    def expect(self, situations: Iterable[Situation]) -> None:
        """Tell what will be asked for: of graphs with the same grips the widest is built first.

        Where that body finds its way smaller ones do as well, so that for these little
        is left to look at.
        """
        from routing.graph.known_room import KnownRoom

        self._room = self._room or KnownRoom()
        for one in situations:
            situation = complete(self.structure, one)
            self._expected.setdefault(self._placing(situation), []).append(situation)

    def build(self, situation: Situation, *, hooks: bool = False) -> ReachGraph:
        """Return the graph of a situation, as `build_graph` does.

        Parameters
        ----------
        situation
            As for `build_graph`.
        hooks
            Whether `ReachGraph.hooks` will be asked for: then they are shared as well.
        """
        situation = complete(self.structure, situation)
        for widest in self._first(situation):
            self._built(widest)
        # Not `replace`: another situation must not inherit what was worked out for this one.
        found = self._built(situation)
        graph = ReachGraph(
            structure=self.structure, situation=situation, grips=found.grips, moves=found.moves
        )
        graph.__dict__["surroundings"] = self.around(situation)
        if hooks:
            graph.__dict__["hooks"] = self._hooks_at_all(graph).at(graph.grips.usable)
        return graph

    def around(self, situation: Situation) -> Surroundings:
        """Return what stands round the grips in a situation."""
        laden = self._laden(situation)
        if laden not in self._around:
            self._around[laden] = survey(self.structure, situation)
        return self._around[laden]

    def _first(self, situation: Situation) -> list[Situation]:
        """Return the widest situation that is still expected with the same grips."""
        still = self._expected.pop(self._placing(situation), [])
        return sorted(still, key=lambda one: one.ability.corridor_radius_m)[-1:]

    def _built(self, situation: Situation) -> ReachGraph:
        """Return a graph with the grips and moves of a situation."""
        alike = (*self._placing(situation), *self._laden(situation), situation.ability)
        if alike not in self._alike:
            self._alike[alike] = self._build(situation)
        return self._alike[alike]

    def _build(self, situation: Situation) -> ReachGraph:
        placing = self._placing(situation)
        if placing not in self._places:
            self._places[placing] = place_grips(self.structure, situation)
        places, surroundings = self._places[placing], self.around(situation)
        known = None
        if self._room is not None:
            known = self._room.of(places, situation.ability.corridor_radius_m)
        bodies = fit_bodies(places, situation, surroundings, known)
        grips = Grips(
            ids=places.ids,
            element_ids=places.element_ids,
            kind=places.kind,
            position_m=places.position_m,
            normal=places.normal,
            along_m=places.along_m,
            lean=bodies.lean,
            body_m=bodies.body_m,
            usable=bodies.usable,
            tether_hook=places.tether_hook,
        )
        ways = None if known is None else known.ways(grips.lean, surroundings.body.ids)
        moves = find_moves(grips, places.element, situation, surroundings, ways)
        return ReachGraph(structure=self.structure, situation=situation, grips=grips, moves=moves)

    def _hooks_at_all(self, graph: ReachGraph) -> "HookPlaces":
        """Return the hooks of all grips, whether a body has room there or not."""
        key = (*self._placing(graph.situation), graph.situation.when)
        if key not in self._hooks:
            from routing.graph.hooks import open_hooks

            everywhere = replace(graph.grips, usable=np.ones(len(graph.grips), dtype=bool))
            self._hooks[key] = open_hooks(replace(graph, grips=everywhere))
        return self._hooks[key]

    @staticmethod
    def _placing(situation: Situation) -> tuple[Limits, float, tuple[str, ...]]:
        """Return all that the places of grips depend on."""
        return situation.limits, situation.free_reach_m, situation.closed

    @staticmethod
    def _laden(situation: Situation) -> tuple[tuple[str, ...], bool]:
        """Return all that what stands round them depends on."""
        return situation.when, situation.carry is not None


def complete(structure: Structure, situation: Situation) -> Situation:
    """Return the situation with everything closed by its conditions, ids sorted and checked."""
    for element_id in situation.closed:
        structure.find(element_id, CLOSABLE)
    closed = {*situation.closed, *closed_by(structure, situation.when)}
    return replace(situation, closed=tuple(sorted(closed)), when=tuple(sorted(set(situation.when))))
