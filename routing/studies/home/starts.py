"""What holds people where they come out; a time home says nothing where nothing does."""

from collections.abc import Iterator

from routing.graph.build import build_graph
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
) -> tuple[Finding, ...]:
    """Return what blocks at the hatches, by hatch: tether point, first hook, first line.

    A hatch at which nobody can begin is left out: nobody comes from there.
    """
    found = _found(structure, situation, protocols, kit)
    return tuple({(one.code, one.elements): one for one in found}.values())


def _found(
    structure: Structure, situation: Situation, protocols: tuple[Protocol, ...], kit: Kit
) -> Iterator[Finding]:
    graph = build_graph(structure, situation)
    for hatch in sorted(one.id for one in structure.hatches):
        for protocol in protocols:
            request = Request(start=hatch, goal=hatch, protocol=protocol, kit=kit)
            try:
                where = begin_at(graph, hatch, protocol, kit)
                stays = route_onward(graph, where, (hatch,), request=request)
            except NoWayOnError:
                continue
            yield from (one for one in stays.route.findings if one.severity == "blocks")
