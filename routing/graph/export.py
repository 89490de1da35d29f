"""The reach graph for others: a networkx graph, node-link JSON or GraphML.

Every attribute is in `ATTRIBUTES`, which also travels inside each exported
graph. Whoever computes a route outside must know two things: the weight is
``seconds``, and a node with ``ends_only`` is only ever the first or the last
node of a route. So leave such nodes out, except start and goal::

    inner = graph.subgraph(n for n, ends in graph.nodes(data="ends_only")
                           if not ends or n in {start, goal})
    path = networkx.dijkstra_path(inner, start, goal, weight="seconds")

Tethers are not in the graph: transfers and payout depend on the route walked.
"""

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from routing.caution import CAUTION
from routing.errors import RoutingError
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.limits import Limits
from routing.version import gripway_version
from structures.files.writer import write_file

if TYPE_CHECKING:
    import networkx as nx

__all__ = ["ATTRIBUTES", "ExportError", "to_graphml", "to_networkx", "to_node_link", "write_graph"]

KINDS: Final = {
    GripKind.HANDRAIL: "handrail",
    GripKind.HANDHOLD: "handhold",
    GripKind.HATCH: "hatch",
    GripKind.SOCKET: "socket",
}

ATTRIBUTES: Final[dict[str, dict[str, str]]] = {
    "graph": {
        "attributes": "this table, as JSON in GraphML",
        "caution": "what every answer says of itself",
        "carry": "id of the item that is carried; empty if none",
        "closed": "ids of what is closed, also by conditions (JSON in GraphML)",
        "corridor_radius_m": "radius of the ball that holds body and load [m]",
        "gripway_version": "version that wrote this",
        "limits": "all limits in force (JSON in GraphML)",
        "person": "id of the person; empty if the limits' own reach and rate count",
        "rate_m_per_s": "translation rate with this load [m/s]",
        "reach_m": "longest hands' way with this load [m]",
        "revision": "revision of the structure",
        "structure": "name of the structure",
        "weight": "name of the edge attribute to minimise",
        "when": "ids of the conditions in force (JSON in GraphML)",
    },
    "node": {
        "element": "id of the handrail, handhold, hatch or socket the grip is on",
        "kind": "handrail, handhold, hatch or socket",
        "ends_only": "true: only the first or last node of a route, never passed through",
        "usable": "false: the body has no clear place here, and there are no moves",
        "tether_hook": "whether a tether hook may be put here",
        "along_m": "distance along the handrail from its first point [m]; 0 elsewhere",
        "x_m": "position at hand height, station axes [m]",
        "y_m": "the same",
        "z_m": "the same",
        "normal_x": "outward unit normal, station axes",
        "normal_y": "the same",
        "normal_z": "the same",
        "lean_x": "unit direction from the grip to the body place",
        "lean_y": "the same",
        "lean_z": "the same",
        "body_x_m": "centre of the body ball [m]",
        "body_y_m": "the same",
        "body_z_m": "the same",
    },
    "edge": {
        "seconds": "time of the move: the sum of the five parts below [s]; the weight",
        "travel_s": "way over rate [s]",
        "gap_s": "allowance for changing from one element to another [s]",
        "turn_s": "allowance for the turn [s]",
        "face_s": "allowance for changing to another face [s]",
        "slow_s": "what slow-down zones add [s]",
        "exposure_s": "seconds of this move inside slow-down zones [s]",
        "gap_m": "straight distance from hand to hand [m]",
        "way_m": "length of the hands' way round edges, and of line laid; at least the gap [m]",
        "turn_rad": "angle between the outward normals [rad]",
        "changes_rail": "whether the hands go to another element",
        "line_clear": "whether a tether line may lie along this move",
    },
}
"""What every attribute of an exported graph means, with its unit."""

_FLOATS = ("seconds", "travel_s", "gap_s", "turn_s", "face_s", "slow_s", "exposure_s")
_LENGTHS = ("gap_m", "way_m", "turn_rad", "changes_rail", "line_clear")

_NOT_XML: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML 1.0 (fifth edition, 2008, section 2.2) cannot hold."""


class ExportError(RoutingError, ValueError):
    """The graph cannot be written in the format asked for."""


def to_networkx(graph: ReachGraph) -> "nx.DiGraph[str]":
    """Return the reach graph as a networkx graph whose nodes are grip ids.

    Nodes and edges are added in id order. All attributes of `ATTRIBUTES` are on
    every node and edge, as plain Python values, finite and never missing.
    """
    import networkx as nx

    found: nx.DiGraph[str] = nx.DiGraph(**_head(graph))
    ids = graph.grips.ids
    found.add_nodes_from(zip(ids, _node_rows(graph), strict=True))
    moves = graph.moves
    names = _FLOATS + _LENGTHS
    columns = [getattr(moves, name).tolist() for name in names]
    head, indptr = moves.head.tolist(), moves.indptr.tolist()
    found.add_edges_from(
        (ids[tail], ids[head[m]], {n: column[m] for n, column in zip(names, columns, strict=True)})
        for tail in range(len(ids))
        for m in range(indptr[tail], indptr[tail + 1])
    )
    return found


def _head(graph: ReachGraph) -> dict[str, Any]:
    situation, structure = graph.situation, graph.structure
    ability = situation.ability
    return {
        "structure": structure.name,
        "revision": structure.revision,
        "person": "" if situation.person is None else situation.person.id,
        "carry": "" if situation.carry is None else situation.carry.id,
        "when": list(situation.when),
        "closed": list(situation.closed),
        "reach_m": ability.reach_m,
        "rate_m_per_s": ability.rate_m_per_s,
        "corridor_radius_m": ability.corridor_radius_m,
        "limits": {name: getattr(situation.limits, name) for name in Limits.model_fields},
        "weight": "seconds",
        "gripway_version": gripway_version(),
        "caution": CAUTION,
        "attributes": ATTRIBUTES,
    }


def _node_rows(graph: ReachGraph) -> list[dict[str, Any]]:
    grips = graph.grips
    columns: dict[str, list[Any]] = {
        "element": list(grips.element_ids),
        "kind": [KINDS[kind] for kind in grips.kind.tolist()],
        "ends_only": (grips.kind == GripKind.SOCKET).tolist(),
        "usable": grips.usable.tolist(),
        "tether_hook": grips.tether_hook.tolist(),
        "along_m": grips.along_m.tolist(),
    }
    vectors = (
        ("{}_m", grips.position_m),
        ("normal_{}", grips.normal),
        ("lean_{}", grips.lean),
        ("body_{}_m", grips.body_m),
    )
    for name, array in vectors:
        for axis, letter in enumerate("xyz"):
            columns[name.format(letter)] = array[:, axis].tolist()
    return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]


def to_node_link(graph: ReachGraph) -> dict[str, Any]:
    """Return the reach graph as node-link data, to be read by ``networkx.node_link_graph``.

    Edges are under ``edges``: give ``edges="edges"`` to networkx before 3.6.
    """
    import networkx as nx

    data: dict[str, Any] = nx.node_link_data(to_networkx(graph), edges="edges")
    return data


def to_graphml(graph: ReachGraph) -> str:
    """Return the reach graph as GraphML; what is not text or number at graph level is JSON in it.

    Raises
    ------
    ExportError
        An id has a character that XML cannot hold.
    """
    import networkx as nx

    for grip_id in graph.grips.ids:
        if _NOT_XML.search(grip_id):
            raise ExportError(
                f"the grip id {grip_id!r} has a character that XML cannot hold; write JSON instead"
            )
    found = to_networkx(graph)
    for name, value in found.graph.items():
        text = value if isinstance(value, str | float) else json.dumps(value, allow_nan=False)
        found.graph[name] = _NOT_XML.sub("\ufffd", text) if isinstance(text, str) else text
    return "\n".join(nx.generate_graphml(found)) + "\n"


def write_graph(graph: ReachGraph, path: str | Path) -> None:
    """Write the reach graph, whole or not at all, as node-link JSON or GraphML by suffix.

    Raises
    ------
    ExportError
        The suffix is neither ``.json`` nor ``.graphml``, or an id does not fit into XML.
    OSError
        The file cannot be written.
    """
    suffix = Path(path).suffix.lower()
    if suffix == ".json":
        text = json.dumps(to_node_link(graph), allow_nan=False, ensure_ascii=False) + "\n"
    elif suffix == ".graphml":
        text = to_graphml(graph)
    else:
        raise ExportError(
            f"no graph format has the suffix {suffix!r}; "
            "write .json (node-link) or .graphml (GraphML)"
        )
    write_file(path, text.encode("utf-8"))
