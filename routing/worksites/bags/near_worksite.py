"""Where a bag or cover can be tied near a worksite, within a person's reach."""

from collections.abc import Collection

import numpy as np

from routing.graph.reach_graph import ReachGraph
from routing.graph.sites import site_grips
from routing.graph.surroundings import Named, survey
from routing.graph.ways import LENGTH_SLACK_M
from routing.paths.answers.result_base import Result
from routing.worksites.bags.checks import BagPlaces, BagRules, Check, check_places
from routing.worksites.ties.places import Tie, tie_elements
from structures.elements import Handhold, Handrail, Item, Worksite
from structures.frames import Vector
from structures.polylines import Polyline
from structures.solids.axes import Floats, norms
from structures.units import length_text
from structures.zones import active_zones, zone_shape

__all__ = ["PLACE_STEP_M", "BagAnswer", "BagPlace", "NoBagPlace", "find_bag_places"]

PLACE_STEP_M = 0.05
"""Places on handrails are taken no farther apart than this, with ends and corners [m]."""


class BagPlace(Result):
    """A place where the bag can be tied."""

    handrail: str
    """The handrail or handhold."""
    along_m: float
    place_m: Vector
    reach_m: float
    """How far a hand has to reach for it."""
    reach_margin_m: float
    room_m: float | None = None
    """The least that is to spare of all other rules; not given where nothing is near."""
    tightest: str | None = None
    """What that is to: the id of a solid, zone or handrail, if it has one."""


class NoBagPlace(Result):
    """A handrail near the worksite that no bag can be tied to, and why."""

    handrail: str
    along_m: float | None = None
    """Where it comes nearest."""
    reason: str


class BagAnswer(Result):
    """Where a bag can be tied at a worksite, best first."""

    worksite: str
    item: str
    kept_clear: tuple[str, ...]
    places: tuple[BagPlace, ...]
    """One a handrail: the nearest to hand first."""
    others: tuple[NoBagPlace, ...]
    """Handrails with a place within twice the reach that do not serve."""
    reason: str | None = None
    """Why nobody can tie anything here, if so."""

    @property
    def safe(self) -> bool:
        """Whether there is a place."""
        return bool(self.places)


def find_bag_places(
    graph: ReachGraph,
    worksite_id: str,
    item: Item,
    *,
    keep_clear: Collection[str] = (),
    reached: Collection[str] | None = None,
) -> BagAnswer:
    """Find the places on handrails where an item can be tied near a worksite.

    Parameters
    ----------
    graph
        Its situation gives person, limits, conditions and closures.
    worksite_id
        Where the person is.
    item
        The bag or cover; half its diagonal is the radius of the ball it may fill.
    keep_clear
        Handrails and handholds that must stay free, such as those of routes.
    reached
        Ids of what hands can get to; ``None`` takes all that are open.

    Notes
    -----
    A hand is at a target of the worksite, or at its place on the handrail; the
    other reaches as far as from hand to hand, with nothing in between. What a
    place must hold is in `routing.worksites.bags.checks`. Zones that keep out
    items or tethers both count. On each handrail the place nearest to hand
    among those `PLACE_STEP_M` apart that hold everything is given; handrails
    are ranked by that reach, then by room, then by id.

    Raises
    ------
    UnknownIdError
        No worksite, handrail or handhold has one of the ids.
    """
    structure = graph.structure
    worksite = structure.find(worksite_id, (Worksite,))
    clear = tuple(sorted(keep_clear))
    grips = site_grips(graph, worksite.id).grips
    place = worksite.socket or worksite.handrail
    nobody = None
    if not len(grips):
        nobody = f"the body has no clear place at {worksite.id}, or it is closed"
    elif reached is not None and place is not None and place not in reached:
        nobody = f"no safe way leads to {place}, where {worksite.id} is"
    if nobody is not None:
        return BagAnswer(
            worksite=worksite.id,
            item=item.id,
            kept_clear=clear,
            places=(),
            others=(),
            reason=nobody,
        )
    rules = _rules(graph, worksite, item, clear, int(grips[0]))
    ties = [
        tie
        for tie in tie_elements(structure, graph.situation.closed, reached)
        if min(tie.gap_m(hand) for hand in rules.hands_m) <= 2 * rules.reach_m
    ]
    open_ = [tie for tie in ties if tie.barred is None]
    found: list[BagPlace] = []
    others = [NoBagPlace(handrail=tie.id, reason=tie.barred) for tie in ties if tie.barred]
    if open_:
        places = _places(graph, open_)
        checks = check_places(rules, places)
        for tie in open_:
            here = np.array([i for i, one in enumerate(places.handrail) if one == tie.id])
            room_m = np.min([check.room_m[here] for check in checks], axis=0)
            good = here[room_m >= -LENGTH_SLACK_M]
            if len(good):
                found.append(_best(rules, places, checks, good))
            else:
                others.append(_why_not(places, checks, here))
    return BagAnswer(
        worksite=worksite.id,
        item=item.id,
        kept_clear=clear,
        places=tuple(
            sorted(found, key=lambda one: (one.reach_m, -(one.room_m or 0.0), one.handrail))
        ),
        others=tuple(sorted(others, key=lambda one: one.handrail)),
    )


def _rules(
    graph: ReachGraph, worksite: Worksite, item: Item, clear: Collection[str], grip: int
) -> BagRules:
    structure, situation = graph.structure, graph.situation
    limits = situation.limits
    targets = np.array([one.position_m for one in worksite.targets], dtype=float).reshape(-1, 3)
    hands = [*targets]
    if worksite.handrail is not None or not hands:
        hands.append(graph.grips.position_m[grip])
    around = survey(structure, situation)
    zones = [
        zone
        for zone in active_zones(structure, situation.when)
        if zone.kind == "keep-out" and {"item", "tether"} & set(zone.applies_to)
    ]
    tender = sorted(
        (solid for solid in structure.solids if solid.kick_sensitive), key=lambda solid: solid.id
    )
    rails = []
    for one in clear:
        element = structure.find(one, (Handrail, Handhold))
        points = element.points_m if isinstance(element, Handrail) else ()
        if isinstance(element, Handhold):
            points = (element.position_m,)
        rails.append((one, Polyline.through(points)))
    x, y, z = item.size_m
    return BagRules(
        radius_m=float(np.sqrt(x * x + y * y + z * z)) / 2,
        hook_m=limits.bag_hook_m,
        hands_m=np.array(hands),
        reach_m=situation.ability.reach_m,
        body_m=graph.grips.body_m[grip],
        body_radius_m=situation.ability.corridor_radius_m,
        targets_m=targets,
        work_clear_m=limits.bag_work_clear_m,
        solids=around.solids,
        tender=Named(tuple(one.volume for one in tender), tuple(one.id for one in tender)),
        zones=Named(tuple(zone_shape(zone) for zone in zones), tuple(zone.id for zone in zones)),
        barred=around.body,
        rails=rails,
        rail_clear_m=limits.bag_rail_clear_m,
    )


def _places(graph: ReachGraph, ties: list[Tie]) -> BagPlaces:
    along = [tie.line.samples_m(PLACE_STEP_M) for tie in ties]
    normals = []
    for tie, some in zip(ties, along, strict=True):
        element = graph.structure.find(tie.id, (Handrail, Handhold))
        normal = element.normal if isinstance(element, Handrail | Handhold) else (0.0, 0.0, 0.0)
        normals.append(np.tile(np.asarray(normal, dtype=float), (len(some), 1)))
    normal_of: Floats = np.concatenate(normals)
    return BagPlaces(
        handrail=tuple(tie.id for tie, some in zip(ties, along, strict=True) for _ in some),
        along_m=np.concatenate(along),
        point_m=np.concatenate(
            [tie.line.points_at(some) for tie, some in zip(ties, along, strict=True)]
        ),
        normal=normal_of / norms(normal_of)[:, None],
    )


def _best(
    rules: BagRules, places: BagPlaces, checks: tuple[Check, ...], good: np.ndarray
) -> BagPlace:
    reach, rest = checks[0], checks[1:]
    room = np.min([check.room_m[good] for check in rest], axis=0)
    order = np.lexsort((places.along_m[good], -np.round(room, 6), -np.round(reach.room_m[good], 6)))
    at = int(good[order[0]])
    tight = min(rest, key=lambda check: float(check.room_m[at]))
    room_m = float(tight.room_m[at])
    x, y, z = places.point_m[at].tolist()
    margin_m = float(reach.room_m[at])
    return BagPlace(
        handrail=places.handrail[at],
        along_m=float(places.along_m[at]),
        place_m=(x, y, z),
        reach_m=rules.reach_m - margin_m,
        reach_margin_m=margin_m,
        room_m=room_m if np.isfinite(room_m) else None,
        tightest=(tight.what[at] or None) if tight.what and np.isfinite(room_m) else None,
    )


def _why_not(places: BagPlaces, checks: tuple[Check, ...], here: np.ndarray) -> NoBagPlace:
    """Say what the place lacks that fails the fewest rules, and of those by the least."""
    room_m = np.array([check.room_m[here] for check in checks])
    lack = np.where(room_m < -LENGTH_SLACK_M, room_m, 0.0)
    lack[~np.isfinite(lack)] = -1e9
    order = np.lexsort((places.along_m[here], -lack.sum(axis=0), (lack < 0).sum(axis=0)))
    at, column = int(here[order[0]]), int(order[0])
    said = []
    for check, by in zip(checks, lack[:, column].tolist(), strict=True):
        if by < 0:
            what = check.what[at] if check.what else ""
            text = check.words.format(by=length_text(-by, "up"), what=what)
            said.append(text if by > -1e8 else f"{what} stands between the hands and it")
    behind = np.flatnonzero(np.isneginf(checks[0].room_m[here]))
    if len(behind) and np.isfinite(checks[0].room_m[at]):
        # Elsewhere on it hands would reach, were it not for what is in the way.
        what = checks[0].what[int(here[behind[0]])]
        said.append(f"where it is near enough {what} stands between the hands and it")
    return NoBagPlace(
        handrail=places.handrail[at], along_m=float(places.along_m[at]), reason="; ".join(said)
    )
