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
    structure: Structure,
    situations: Sequence[Situation],
    protocols: tuple[Protocol, ...],
    kit: Kit,
) -> dict[Protocol, tuple[Finding, ...]]:
    """Return what blocks at the hatches, by protocol: tether point, first hook, first line.

    A hatch at which somebody cannot begin says nothing of it to that person, as nobody
    comes from there; so all of them are asked who differ in the room that they take.
    """
    found: dict[Protocol, dict[Finding, None]] = {one: {} for one in protocols}
    for situation in _by_room(situations):
        graph = build_graph(structure, situation)
        hatches = sorted(one.id for one in structure.hatches)
        for one in protocols:
            found[one] |= dict.fromkeys(_found(graph, hatches, one, kit))
    return {one: tuple(said) for one, said in found.items()}


def _by_room(situations: Sequence[Situation]) -> tuple[Situation, ...]:
    """Return one situation of each room that bodies and loads take."""
    found: dict[tuple[float, bool], Situation] = {}
    for one in situations:
        carries = one.carry is not None  # zones may keep out items alone
        found.setdefault((one.ability.corridor_radius_m, carries), one)
    return tuple(found.values())


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
