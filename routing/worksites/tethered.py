"""Where a tethered person gets to from where they start, whatever the time."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from routing.graph.reach_graph import Flags, GripKind, ReachGraph
from routing.graph.sites import site_grips
from routing.paths.answers.results import Route
from routing.paths.route import RouteOptions
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.kit import Outfitting, default_kit
from routing.paths.tethers.reel import reel_reach
from routing.paths.tethers.short_tethers import hook_flags, hook_rule
from routing.paths.worksite_routes import routes_to_all
from structures.elements import Worksite

__all__ = ["LEAPFROG", "reached_for_work", "safe_sites", "tethered_grips"]


LEAPFROG: Final = Outfitting(name="leapfrog", protocol="leapfrog")


def tethered_grips(graph: ReachGraph, start: str, outfitting: Outfitting) -> Flags:
    """Return whether a tethered person gets to each grip from a site, shape (n,).

    Whether the first hook holds is not looked at; a route says so (`safe_sites`).

    Parameters
    ----------
    graph
        Its situation gives zones, closures and who goes.
    start
        A site; from a hatch without a hook leapfrog leads nowhere, and reels lead nowhere
        from a site without a tether point within hook reach.
    outfitting
        How the person stays tethered; the reels are by default two of the limits' length.

    Raises
    ------
    UnknownIdError
        There is no such site.
    """
    reached = np.zeros(len(graph.grips), dtype=np.bool_)
    place = site_grips(graph, start)
    if outfitting.protocol == "reel":
        kit = outfitting.kit or default_kit(graph.situation.limits)
        reached[reel_reach(graph, (place, place), kit)[1]] = True
        return reached
    hooks = hook_flags(graph)
    sources = {
        grip: 0.0
        for grip in place.grips.tolist()
        if hooks[grip] or graph.grips.kind[grip] != GripKind.HATCH
    }
    if sources:
        sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET).tolist()
        allowed = hook_rule(graph).allowed
        network = Network.of_moves(graph.moves, allowed=allowed, terminal=sockets)
        reached |= np.isfinite(least_time_tree(network, sources).cost)
    return reached


def safe_sites(graph: ReachGraph, sites: Sequence[str], outfitting: Outfitting) -> frozenset[str]:
    """Return those of some sites to which a safe tethered route leads from a hatch.

    Without a hatch there are none.

    Raises
    ------
    UnknownIdError
        There is no such site.
    """
    hatches = sorted(hatch.id for hatch in graph.structure.hatches)
    options = RouteOptions(kit=outfitting.kit, explain=False)
    answers = [
        routes_to_all(graph, hatch, sites, protocol=outfitting.protocol, options=options)
        for hatch in hatches
    ]
    return frozenset(
        site
        for found in answers
        for site, answer in found.items()
        if isinstance(answer, Route) and answer.safe
    )


def reached_for_work(graph: ReachGraph, worksite_id: str, outfitting: Outfitting) -> frozenset[str]:
    """Return the ids of the elements that a tethered person who works at a worksite gets to.

    The worksite's own socket or handrail is among them only if a safe route leads from a
    hatch to the worksite. Whether the first hook holds on the way to others is not looked at:
    people get to them from the worksite. Without a hatch there are none.

    Raises
    ------
    UnknownIdError
        There is no such worksite.
    """
    worksite = graph.structure.find(worksite_id, (Worksite,))
    reached = np.zeros(len(graph.grips), dtype=np.bool_)
    for hatch in sorted(one.id for one in graph.structure.hatches):
        reached |= tethered_grips(graph, hatch, outfitting)
    found = {graph.grips.element_ids[i] for i in np.flatnonzero(reached).tolist()}
    if not safe_sites(graph, [worksite_id], outfitting):
        found -= {worksite.socket, worksite.handrail}
    return frozenset(found)
