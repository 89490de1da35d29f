"""What holds people where they come out; a time home says nothing where nothing does."""

from collections.abc import Iterator, Sequence

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.onward import NoWayOnError, begin_at, route_onward
from routing.paths.request import Request
from routing.paths.tethers.kit import Kit
from structures.findings import Finding
from structures.model import Structure

__all__ = ["hatch_findings"]


def hatch_findings(
    structure: Structure, situation: Situation, protocols: tuple[Protocol, ...], kit: Kit
) -> dict[Protocol, tuple[Finding, ...]]:
    """Return what blocks at the hatches, by protocol: tether point, first hook, first line.

    A hatch at which nobody can begin is left out: nobody comes from there.
    """
    graph = build_graph(structure, situation)
    hatches = sorted(one.id for one in structure.hatches)
    return {one: tuple(_found(graph, hatches, one, kit)) for one in protocols}


def _found(
    graph: ReachGraph, hatches: Sequence[str], protocol: Protocol, kit: Kit
) -> Iterator[Finding]:
    for hatch in hatches:
        request = Request(start=hatch, goal=hatch, protocol=protocol, kit=kit)
        try:
            where = begin_at(graph, hatch, protocol, kit)
            stays = route_onward(graph, where, (hatch,), request=request)
        except NoWayOnError:
            continue
        yield from (one for one in stays.route.findings if one.severity == "blocks")
