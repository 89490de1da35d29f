"""Build the reach graph of a structure in a situation."""

from dataclasses import replace

from routing.graph.bodies import fit_bodies
from routing.graph.grips import place_grips
from routing.graph.moves import find_moves
from routing.graph.reach_graph import Grips, ReachGraph
from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from structures.elements import Handhold, Handrail, Hatch, Socket, TetherPoint
from structures.model import Structure
from structures.zones import closed_by

__all__ = ["CLOSABLE", "build_graph", "complete"]

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
    situation = complete(structure, situation)
    places = place_grips(structure, situation)
    surroundings = survey(structure, situation)
    bodies = fit_bodies(places, situation, surroundings)
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
    moves = find_moves(grips, places.element, situation, surroundings)
    return ReachGraph(structure=structure, situation=situation, grips=grips, moves=moves)


def complete(structure: Structure, situation: Situation) -> Situation:
    """Return the situation with everything closed by its conditions, ids sorted and checked."""
    for element_id in situation.closed:
        structure.find(element_id, CLOSABLE)
    closed = {*situation.closed, *closed_by(structure, situation.when)}
    return replace(situation, closed=tuple(sorted(closed)), when=tuple(sorted(set(situation.when))))
