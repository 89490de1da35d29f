"""From which grips a camera can see a face, how soon, and the fewest that see all of it."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from routing.graph.reach_graph import Flags, Floats, GripKind, Indices, ReachGraph
from routing.graph.sites import site_grips
from routing.graph.surroundings import survey
from routing.paths.answers.results import Route
from routing.paths.route import RouteOptions
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.kit import Outfitting
from routing.paths.worksite_routes import routes_to_all
from routing.worksites.sight.cover import fewest_cover
from routing.worksites.sight.gaps import thin_in_view
from routing.worksites.sight.lines import FaceViews, view_face
from routing.worksites.sight.records import FaceSight, Vantage
from routing.worksites.tethered import LEAPFROG, tethered_grips
from structures.built_in import built_in_camera
from structures.faces import Camera, Face
from structures.findings import Finding

__all__ = ["camera_places_m", "cameras_of", "sight_of", "vantage_grips"]

MOST = 5
"""So many vantage points are listed of each sort."""


def cameras_of(graph: ReachGraph) -> tuple[Camera, ...]:
    """Return the cameras that count, in id order: the structure's, or the built-in one."""
    listed = graph.structure.cameras or (built_in_camera(),)
    return tuple(sorted(listed, key=lambda one: one.id))


def sight_of(
    graph: ReachGraph,
    face: Face,
    *,
    start: str,
    camera: Camera | None = None,
    outfitting: Outfitting = LEAPFROG,
) -> FaceSight:
    """Find from which grips a face can be seen.

    A person at a grip holds the camera out from the body's place there; other
    postures are not tried, so a face may be seen from more places than found.
    Only grips that a tethered person gets to count. Times are those of the hands: tether
    transfers, and ways round for the tether's sake, come on top.

    Parameters
    ----------
    graph
        Its situation gives zones, closures and who goes.
    face
        One of the structure's, or another.
    start
        The site where the person starts.
    camera
        Which camera; by default the first of `cameras_of`.
    outfitting
        How the person stays tethered, and with what.

    Returns
    -------
    FaceSight

    Raises
    ------
    UnknownIdError
        There is no such site.
    """
    camera = cameras_of(graph)[0] if camera is None else camera
    seconds = _seconds(graph, start, outfitting)
    solids = survey(graph.structure, graph.situation).solids
    grips = vantage_grips(graph, seconds)
    places_m = camera_places_m(graph, grips, camera)
    views = view_face(face, camera, places_m, solids, bodies_m=graph.grips.body_m[grips])
    found = _Found(graph, grips, seconds[grips], places_m, views)
    seen: Flags = np.asarray(views.sees.any(axis=0), dtype=np.bool_)
    able = np.flatnonzero(views.sees.any(axis=1))
    whole = np.flatnonzero(views.sees.all(axis=1))
    cover = found.cover(able)
    covering = found.rows(cover[found.soonest(cover)])
    unsafe = _unsafe_ways(graph, start, [one.grip for one in covering], outfitting)
    return FaceSight(
        face=face.id,
        name=face.name,
        camera=camera.id,
        start=start,
        verdict=_verdict(int(seen.sum()), len(seen), len(whole)),
        samples=len(seen),
        seen=int(seen.sum()),
        grips=len(able),
        whole=found.rows(whole[found.soonest(whole)][:MOST]),
        best=found.rows(able[found.fullest(able)][:MOST]),
        cover=covering,
        samples_m=tuple(_vector(one) for one in views.samples_m),
        unseen=tuple(np.flatnonzero(~seen).tolist()),
        reason=None if seen.all() else _reason(found, camera, seen),
        findings=(*unsafe, *_findings(graph), *thin_in_view(face, places_m[cover], solids)),
    )


def vantage_grips(graph: ReachGraph, seconds: Floats) -> Indices:
    """Return the grips a person can be at with a hand free: reached, usable, no socket.

    Parameters
    ----------
    graph
        The n grips and moves of the situation.
    seconds
        Time to each grip, infinite where it is not reached, shape (n,) [s].

    Returns
    -------
    Indices
        Shape (k,), ascending.
    """
    usable = graph.grips.usable & np.isfinite(seconds)
    return np.flatnonzero(usable & (graph.grips.kind != GripKind.SOCKET))


def camera_places_m(graph: ReachGraph, grips: Indices, camera: Camera) -> Floats:
    """Return where the camera is at each grip, shape (k, 3) [m]."""
    held: Floats = graph.grips.body_m[grips] + camera.held_out_m * graph.grips.lean[grips]
    return held


def _seconds(graph: ReachGraph, start: str, outfitting: Outfitting) -> Floats:
    """Return the hands' time to every grip, shape (n,) [s]; infinite: no tethered way there."""
    got_to = tethered_grips(graph, start, outfitting)
    if not got_to.any():
        return np.full(len(graph.grips), np.inf)
    sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET).tolist()
    network = Network.of_moves(graph.moves, terminal=sockets)
    sources = dict.fromkeys(site_grips(graph, start).grips.tolist(), 0.0)
    return np.where(got_to, least_time_tree(network, sources).cost, np.inf)


def _unsafe_ways(
    graph: ReachGraph, start: str, grips: Sequence[str], outfitting: Outfitting
) -> tuple[Finding, ...]:
    """Return what blocks the tethered ways to grips that are got to, each once: the first hook."""
    options = RouteOptions(kit=outfitting.kit, explain=False)
    answers = routes_to_all(graph, start, grips, protocol=outfitting.protocol, options=options)
    blocking = (
        finding
        for answer in answers.values()
        if isinstance(answer, Route)
        for finding in answer.findings
        if finding.severity == "blocks"
    )
    return tuple(dict.fromkeys(blocking))


class _Found:
    """Views with the grips they are from."""

    def __init__(
        self, graph: ReachGraph, grips: Indices, seconds: Floats, places_m: Floats, views: FaceViews
    ) -> None:
        self.ids = [graph.grips.ids[i] for i in grips.tolist()]
        self.seconds, self.places_m, self.views = seconds, places_m, views

    def soonest(self, some: Indices) -> Indices:
        """Return the order of some views by time, then by grip."""
        return np.lexsort((some, self.seconds[some]))

    def fullest(self, some: Indices) -> Indices:
        """Return the order of some views by what is seen, then by time, then by grip."""
        return np.lexsort((some, self.seconds[some], -self.views.sees[some].sum(axis=1)))

    def cover(self, able: Indices) -> Indices:
        """Return the fewest views that see what all of them see."""
        sets = [
            sum(1 << bit for bit in np.flatnonzero(row).tolist()) for row in self.views.sees[able]
        ]
        chosen = fewest_cover(sets, self.seconds[able].tolist())
        return able[np.array(chosen, dtype=np.int64)]

    def rows(self, some: Indices) -> tuple[Vantage, ...]:
        """Describe some views."""
        return tuple(self._row(one) for one in some.tolist())

    def _row(self, one: int) -> Vantage:
        sees = self.views.sees[one]
        range_m = self.views.range_m[one][sees]
        return Vantage(
            grip=self.ids[one],
            seconds=float(self.seconds[one]),
            fraction=float(sees.mean()),
            camera_m=_vector(self.places_m[one]),
            nearest_m=float(range_m.min()),
            farthest_m=float(range_m.max()),
            slant_deg=float(np.rad2deg(self.views.slant_rad[one][sees].max())),
        )


def _verdict(seen: int, samples: int, whole: int) -> Any:
    if not seen:
        return "not seen"
    if seen < samples:
        return "partly seen"
    return "seen from one place" if whole else "seen from several"


def _reason(found: _Found, camera: Camera, seen: Flags) -> str:
    """Say which limit keeps the unseen samples from being seen, by counts."""
    unseen = ~seen
    if not len(found.ids):
        return "no tethered way leads from the start to any grip"
    range_m = found.views.range_m[:, unseen]
    slant = found.views.slant_rad[:, unseen]
    far = (range_m.min(axis=0) > camera.farthest_m).sum()
    inside = (range_m >= camera.nearest_m) & (range_m <= camera.farthest_m)
    near = (~inside.any(axis=0)).sum() - far
    slanted = (inside & (slant <= np.deg2rad(camera.incidence_deg))).any(axis=0)
    hidden = slanted.sum()
    steep = int(unseen.sum()) - int(far) - int(near) - int(hidden)
    counts = (
        (int(far), f"beyond {camera.farthest_m:g} m of every reachable grip"),
        (int(near), f"within {camera.nearest_m:g} m of every grip in range"),
        (steep, f"seen at more than {camera.incidence_deg:g} deg only"),
        (int(hidden), "hidden by solids"),
    )
    parts = "; ".join(f"{many} {words}" for many, words in counts if many)
    return f"{int(unseen.sum())} of {len(seen)} samples are seen from nowhere: {parts}"


def _findings(graph: ReachGraph) -> tuple[Finding, ...]:
    if graph.structure.cameras:
        return ()
    return (
        Finding(
            code="built-in-camera",
            severity="warns",
            message=(
                "the structure lists no cameras, so the built-in one was used; its numbers are "
                "assumed; list the camera that is really used"
            ),
        ),
    )


def _vector(point: Floats) -> tuple[float, float, float]:
    x, y, z = point.tolist()
    return x, y, z
