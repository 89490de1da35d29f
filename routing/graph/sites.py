"""Sites: what people ask a route from or to, and the grips that stand for them."""

from typing import Literal, TypeAlias

import numpy as np

from routing.graph.hooks import hook_places
from routing.graph.reach_graph import Indices, ReachGraph
from routing.graph.ways import LENGTH_SLACK_M
from structures.elements import (
    Element,
    Handhold,
    Handrail,
    Hatch,
    Socket,
    TetherPoint,
    Worksite,
)
from structures.errors import UnknownIdError
from structures.frozen import frozen
from structures.model import Structure
from structures.near_names import nearest_names
from structures.polylines import Polyline, segment_gaps
from structures.units import fine_text, length_text

__all__ = [
    "SITE_KINDS",
    "SiteKind",
    "SitePlaces",
    "site_grips",
    "worksite_along_m",
    "worksite_away_m",
    "worksite_out_of_reach_m",
]

SiteKind: TypeAlias = Literal[
    "worksite", "socket", "handrail", "handhold", "hatch", "tether point", "grip"
]

SITE_KINDS: dict[type[Element], SiteKind] = {
    Worksite: "worksite",
    Socket: "socket",
    Handrail: "handrail",
    Handhold: "handhold",
    Hatch: "hatch",
    TetherPoint: "tether point",
}


@frozen(kw_only=True, eq=False)
class SitePlaces:
    """The grips of a site, ascending. One that is closed or unusable has none."""

    site_id: str
    kind: SiteKind
    grips: Indices
    """Grips at which one is at the site, shape (k,)."""
    unusable: Indices
    """Grips of the site where the body has no clear place, shape (u,)."""
    too_far: str = ""
    """Why no grip stands for it: its place is out of reach of the nearest one on its handrail."""

    @property
    def why_none(self) -> str:
        """What to say of a site without grips, as a clause about it."""
        return self.too_far or f"{self.kind} {self.site_id} has no grip that can be used"


def site_grips(graph: ReachGraph, site_id: str) -> SitePlaces:
    """Find the grips of a site.

    A socket, handhold or hatch is one grip; a handrail is all grips on it; a
    worksite is the grip of its socket or the one at its place on the handrail,
    and none if that place is out of reach of a person who holds on there, because
    a way to that grip is no way to the work; a tether point is all grips from which a
    hook can be put on it. The id of a grip (``H12@0.250``) is a site too.

    Raises
    ------
    UnknownIdError
        No site has this id; the message names the nearest ones.
    """
    structure = graph.structure
    element = structure.by_id.get(site_id)
    kind = SITE_KINDS.get(type(element)) if element is not None else None
    if element is None or kind is None:
        return _grip_itself(graph, site_id)
    if isinstance(element, TetherPoint):
        found = hook_places(graph, (site_id,)).grip
    elif isinstance(element, Worksite):
        found = _worksite_grips(graph, element)
        away_m = worksite_out_of_reach_m(graph, element)
        if away_m is not None:
            return SitePlaces(
                site_id=site_id,
                kind=kind,
                grips=found[:0],
                unusable=found[:0],
                too_far=(
                    f"the place of worksite {site_id} is {length_text(away_m, 'up')} from the "
                    f"nearest grip of its handrail {element.handrail}, over the reach of "
                    f"{fine_text(graph.situation.free_reach_m)}, so nobody who holds on there "
                    "gets to "
                    "it; correct the place, or name the handrail it is at"
                ),
            )
    else:
        found = _on_element(graph, element.id)
    return _split(graph, site_id, kind, found)


def _grip_itself(graph: ReachGraph, site_id: str) -> SitePlaces:
    rail, mark, _ = site_id.rpartition("@")
    if mark:
        on_rail = _on_element(graph, rail)
        known = [graph.grips.ids[i] for i in on_rail.tolist()]
        if site_id in known:
            return _split(graph, site_id, "grip", on_rail[[known.index(site_id)]])
        if known:
            from routing.graph.grip_names import nearest_grips, rail_length_text

            element = graph.structure.by_id[rail]
            note = rail_length_text(element) if isinstance(element, Handrail) else ""
            nearest = nearest_grips(site_id, known)
            raise UnknownIdError(site_id, wanted="grip", nearest=nearest, note=note)
    raise _unknown_site(graph.structure, site_id)


def _unknown_site(structure: Structure, site_id: str) -> UnknownIdError:
    known = [e.id for _, e in structure.elements() if type(e) in SITE_KINDS]
    wanted = "worksite, socket, handrail, handhold, hatch, tether point or grip"
    nearest = tuple(nearest_names(site_id, known))
    return UnknownIdError(site_id, wanted=wanted, nearest=nearest)


def _on_element(graph: ReachGraph, element_id: str) -> Indices:
    return graph.grips.on_element(element_id)


def _worksite_grips(graph: ReachGraph, worksite: Worksite) -> Indices:
    if worksite.socket is not None:
        return _on_element(graph, worksite.socket)
    rail = graph.structure.find(str(worksite.handrail), (Handrail,))
    on_rail = _on_element(graph, rail.id)
    if not len(on_rail):
        return on_rail[:0]
    off_m = np.abs(graph.grips.along_m[on_rail] - worksite_along_m(rail, worksite))
    return on_rail[[int(off_m.argmin())]]


def worksite_along_m(rail: Handrail, worksite: Worksite) -> float:
    """Return how far along its handrail a worksite is [m].

    Raises
    ------
    ValueError
        The worksite is at a socket.
    """
    if worksite.place_m is None:
        raise ValueError(f"worksite {worksite.id} is at a socket, not on a handrail")
    line = Polyline.through(rail.points_m)
    starts, ends = line.segments()
    place_m = np.array([worksite.place_m])
    gap_m, _, share = segment_gaps(place_m, place_m, starts, ends)
    piece = int(gap_m.argmin())
    length_m = line.along_m[piece + 1] - line.along_m[piece]
    return float(line.along_m[piece] + share[piece] * length_m)


def worksite_away_m(graph: ReachGraph, site_id: str) -> float:
    """Return how far a worksite's place is from the grip that stands for it [m].

    0 at a socket, and where its handrail is closed: there is no grip to be far from.
    """
    worksite = graph.structure.by_id.get(site_id)
    if not isinstance(worksite, Worksite) or worksite.place_m is None:
        return 0.0
    grips = _worksite_grips(graph, worksite)
    if not len(grips):
        return 0.0
    return float(np.linalg.norm(graph.grips.position_m[grips[0]] - np.array(worksite.place_m)))


def worksite_out_of_reach_m(graph: ReachGraph, worksite: Worksite) -> float | None:
    """Return how far a worksite's place is from its grip if that is out of reach, else None [m].

    Held against the reach of the person with both hands free: who works there has
    put down what was carried.
    """
    away_m = worksite_away_m(graph, worksite.id)
    return away_m if away_m > graph.situation.free_reach_m + LENGTH_SLACK_M else None


def _split(graph: ReachGraph, site_id: str, kind: SiteKind, found: Indices) -> SitePlaces:
    usable = graph.grips.usable[found] if len(found) else np.zeros(0, dtype=bool)
    return SitePlaces(site_id=site_id, kind=kind, grips=found[usable], unusable=found[~usable])
