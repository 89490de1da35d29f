"""What acts ask the worksites: does the restraint serve, is it seen, does the cable reach.

Where the data lacks, that is said in a note, never passed over as fine.
"""

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from routing.graph.situation import Situation
from routing.graph.ways import LENGTH_SLACK_M
from routing.outings.clock.activity_plan import way_id
from routing.outings.clock.conditions import conditions_during, conditions_since
from routing.outings.clock.schedule import Schedule
from routing.outings.custody.handling import Stock
from routing.outings.plan_file.records import Act
from routing.outings.safety.tethers import trips_in_time
from routing.outings.sites.site_findings import Unchecked, finding_at
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground
from structures.built_in import built_in_restraints
from structures.cables import Cable
from structures.elements import Socket, Target, Worksite
from structures.faces import Camera, Face
from structures.model import Structure
from structures.restraints import Restraint
from structures.units import length_text

if TYPE_CHECKING:
    from routing.worksites.cables.runs import CableRuns

__all__ = ["check_sites"]

_SPOT_M = 0.02
"""Side of the square that stands for a target which is to be seen [m]."""


def check_sites(schedule: Schedule, ground: Ground, stock: Stock) -> Iterator[OutingFinding]:
    """Yield what the worksites say against acts, and notes of what could not be looked at."""
    asks = {"get-in": _restraint, "photograph": _sight, "lay-cable": _cable}
    unchecked: dict[tuple[str, str], list[Act]] = {}
    for act in schedule.plan.acts:
        if act.does not in asks or (act.id, act.who[0]) not in schedule.leg.grips:
            continue
        for found in asks[act.does](act, schedule, ground, stock):
            if isinstance(found, Unchecked):
                unchecked.setdefault((found.what, found.why), []).append(act)
            else:
                yield found
    for (what, why), acts in unchecked.items():
        at_s = schedule.start_s(acts[0].id)
        yield OutingFinding(
            code="not-checked",
            severity="notes",
            act=acts[0].id,
            person=acts[0].who[0],
            at_s=at_s,
            message=f"not checked for {', '.join(act.id for act in acts)}: {what} "
            f"(from {clock(at_s)})",
            remedy=why,
        )


def _restraint(
    act: Act, schedule: Schedule, ground: Ground, stock: Stock
) -> Iterator[OutingFinding | Unchecked]:
    """Ask whether the restraint, at its socket, serves this person at what is worked on there."""
    from routing.worksites.restraints.at_worksite import restraint_reach, restraint_serves
    from routing.worksites.restraints.verdict import setting_text, shortfall_text

    person, structure = act.who[0], ground.structure
    what = "whether the restraint puts hands and eyes on the work"
    model = _restraint_of(stock, act.item or "", structure)
    if model is None:
        yield Unchecked(what, _which_restraint(act.item or "", structure))
        return
    worksites = _served(structure, schedule.leg.sites[act.id, person])
    if not worksites:
        yield Unchecked(what, "give the structure a worksite with targets at that socket")
    if not structure.restraints:
        yield finding_at(
            (act, schedule.start_s(act.id)),
            "built-in-restraint",
            (model.id,),
            f"{act.item} was taken to be the built-in restraint {model.id}, whose numbers are from "
            "memory or assumed",
            "list the restraints that are really used in the structure",
            (None, 0.0, "m"),
            severity="warns",
        )
    when = _while_inside(act, schedule)
    for worksite in worksites:
        body = ground.people[person]
        situation = Situation(limits=ground.limits, person=body, when=when, closed=ground.closed)
        # Whether it serves is found sooner than how well, and how near another comes to it.
        serves = partial(
            restraint_serves,
            structure,
            worksite,
            situation,
            model,
            ground.around(person, None, when),
        )
        if ground.once(("serves", worksite.id, model.id, body.body, when), serves):
            continue
        asked = ("restraint", worksite.id, body.body, when)
        asking = partial(restraint_reach, structure, worksite, situation, in_short=True)
        reach = ground.once(asked, asking)
        own = next((s for s in reach.sockets if s.own and s.restraint == model.id), None)
        failing = [] if own is None else [one for one in own.bodies if not one.working]
        nearest = failing[0].nearest if failing else None
        why = reach.reason or f"restraint {model.id} is not rated for the loads"
        if nearest is not None:
            why = (
                f"for {failing[0].body} the nearest setting ({setting_text(nearest)}) fails: "
                f"{shortfall_text(nearest)}"
            )
        yield finding_at(
            (act, schedule.start_s(act.id)),
            "restraint-does-not-serve",
            (model.id, worksite.id),
            f"{act.item} ({model.id}) does not put {person} at the work of {worksite.id}: {why}",
            "use another restraint or socket, see `gripway restraint`",
            (None if nearest is None else nearest.margin_m, 0.0, "m"),
        )


def _while_inside(act: Act, schedule: Schedule) -> tuple[str, ...]:
    """Return the conditions that may be in force from a get-in until its get-out, sorted."""
    person, plan = act.who[0], schedule.plan
    acts = plan.acts_of(person)
    inside = acts[acts.index(act) :]
    out = next(
        (i for i, one in enumerate(inside) if one.does == "get-out" and one.item == act.item),
        len(inside),
    )
    found = set(conditions_during(plan, act.id))
    for one in inside[1 : out + 1]:
        found |= {
            *conditions_during(plan, way_id(one.id, person)),
            *conditions_during(plan, one.id),
        }
    return tuple(sorted(found))


def _served(structure: Structure, site: str) -> list[Worksite]:
    element = structure.by_id.get(site)
    if isinstance(element, Worksite):
        return [element] if element.socket is not None and element.targets else []
    if not isinstance(element, Socket):
        return []
    return [w for w in structure.worksites if w.socket == site and w.targets]


def _model(
    stock: Stock, item: str, listed: tuple[Restraint | Camera | Cable, ...]
) -> Restraint | Camera | Cable | None:
    """Return what an item is in the structure: as the plan says, or the only one there is."""
    model = stock.planned_as(item).model
    if model is not None:
        return next((one for one in listed if one.id == model), None)
    return listed[0] if len(listed) == 1 else None


def _restraint_of(stock: Stock, item: str, structure: Structure) -> Restraint | None:
    """Return the restraint that an item is; a built-in one only if the plan says so."""
    from routing.worksites.restraints.choice import restraints_of

    named = stock.planned_as(item).model is not None
    listed = restraints_of(structure) if named else structure.restraints
    model = _model(stock, item, listed)
    return model if isinstance(model, Restraint) else None


def _which_restraint(item: str, structure: Structure) -> str:
    """Return what to do so that it is known which restraint an item is."""
    if structure.restraints:
        return f"say which of the structure's restraints it is: model, {item}"
    known = " or ".join(f'"{one.id}"' for one in built_in_restraints())
    return (
        "the structure lists no [[restraints]]: add the one that is used, or say under items that "
        f"{item} is the built-in one: model = {known}"
    )


def _sight(
    act: Act, schedule: Schedule, ground: Ground, stock: Stock
) -> Iterator[OutingFinding | Unchecked]:
    """Ask whether the face or target is seen from where the person is."""
    from routing.graph.surroundings import survey
    from routing.worksites.sight.lines import view_face

    structure, person = ground.structure, act.who[0]
    what = f"whether {act.subject} is seen from there"
    face = _face(structure, act.subject or "")
    if face is None:
        yield Unchecked(what, "name a face of the structure or a target of a worksite as subject")
        return
    cameras = [
        one
        for item in act.using
        if isinstance(one := _model(stock, item, structure.cameras), Camera)
    ]
    if not cameras:
        yield Unchecked(what, "say which of the structure's cameras is used: model, under items")
        return
    camera, grips, grip = cameras[0], ground.grips(person), schedule.leg.grips[act.id, person]
    place_m = grips.body_m[grip] + camera.held_out_m * grips.lean[grip]
    situation = Situation(limits=ground.limits, person=ground.people[person], closed=ground.closed)
    views = ground.once(
        ("sight", face.id, camera.id, person, grip),
        lambda: view_face(
            face,
            camera,
            place_m[None, :],
            survey(structure, situation).solids,
            bodies_m=grips.body_m[[grip]],
        ),
    )
    seen = float(views.sees.mean())
    if seen < 1.0:
        yield finding_at(
            (act, schedule.start_s(act.id)),
            "partly-seen" if seen else "not-seen",
            (face.id, camera.id),
            f"from {grips.ids[grip]} {camera.id} sees {seen:.0%} of {act.subject}: the nearest of "
            f"it is {views.range_m.min():.2f} m away ({camera.nearest_m:g} to "
            f"{camera.farthest_m:g} m is in focus), at {np.rad2deg(views.slant_rad.min()):.0f} deg "
            f"({camera.incidence_deg:g} deg at most)",
            "take it from another place, see `gripway sight`",
            (seen, 1.0, "1"),
            severity="warns" if seen else "blocks",
        )


def _face(structure: Structure, subject: str) -> Face | None:
    """Return a face, or the spot round a target that is worked on."""
    element = structure.by_id.get(subject)
    if isinstance(element, Face):
        return element
    targets = (one for worksite in structure.worksites for one in worksite.targets)
    target = next((one for one in targets if one.id == subject), None)
    if not isinstance(target, Target):
        return None
    normal = np.asarray(target.facing, dtype=float)
    across = np.cross(normal, np.eye(3)[np.argmin(np.abs(normal))])
    x, y, z = (across / np.linalg.norm(across)).tolist()
    return Face(
        id=target.id,
        center_m=target.position_m,
        normal=target.facing,
        across=(x, y, z),
        size_m=(_SPOT_M, _SPOT_M),
    )


def _cable(
    act: Act, schedule: Schedule, ground: Ground, stock: Stock
) -> Iterator[OutingFinding | Unchecked]:
    """Ask whether the cable is long enough, and stays clear of what counts while it lies there."""
    structure, person = ground.structure, act.who[0]
    carried = tuple(one for one in structure.cables if one.item == act.item)
    cable = _model(stock, act.item or "", carried or structure.cables)
    if not isinstance(cable, Cable):
        yield Unchecked(
            "whether the cable is long enough", "say which of the structure's cables it is: model"
        )
        return
    yield from _straight(act, schedule, ground, cable)
    if not act.plugs:
        yield Unchecked(
            "the run of the cable over its ties",
            "name the connectors it runs from and to: plugs = [...]",
        )
        return
    start, goal = act.plugs
    rails = _rails_after(schedule, schedule.end_s(act.id))
    runs_when = partial(_runs, ground, cable, (person, (start, goal), rails))
    now, ever = (
        conditions_during(schedule.plan, act.id),
        conditions_since(schedule.plan, act.id, _taken_up(act, schedule)),
    )
    runs, why_later = runs_when(ever), ""
    if runs.safe:
        return
    before = runs_when(now)
    code = "cable-does-not-reach"
    if before.safe:
        code = "cable-in-zone-later"
        late = [one for one in ever if one not in now]
        shut = [one for one in late if not runs_when((*now, one)).safe] or late
        by = [other.id for other in schedule.plan.acts if set(other.sets) & set(shut)]
        why_later = f" once {' and '.join(shut)} is in force (by {', '.join(by)})"
    best = runs.best
    yield finding_at(
        (act, schedule.start_s(act.id)),
        code,
        (cable.id, *act.plugs),
        f"no run of {cable.id} from {start} to {goal} keeps its rules off the {len(rails)} "
        f"handrails that ways use later{why_later}: "
        f"{runs.reason or (best and best.reason) or 'no run'}",
        "use another cable, ties or ways, see `gripway cable`",
        (None if best is None else best.needed_m, cable.length_m, "m"),
    )


def _runs(
    ground: Ground,
    cable: Cable,
    asked: tuple[str, tuple[str, str], tuple[str, ...]],
    when: tuple[str, ...],
) -> "CableRuns":
    """Return the runs of a cable for a person between plugs, off handrails, under conditions."""
    from routing.worksites.cables.runs import find_cable_runs

    person, plugs, rails = asked
    situation = Situation(
        limits=ground.limits, person=ground.people[person], when=when, closed=ground.closed
    )
    return ground.once(
        ("cable", cable.id, plugs, rails, when),
        lambda: find_cable_runs(
            ground.structure, cable.id, plugs, situation, keep_clear=rails, count=3
        ),
    )


def _taken_up(act: Act, schedule: Schedule) -> list[str]:
    """Return the acts that take a cable up again for certain after it was laid."""
    plan = schedule.plan
    return [
        other.id
        for other in plan.acts
        if other.does == "fetch"
        and other.item == act.item
        and plan.network.comes_before(act.id, other.id)
    ]


def _straight(
    act: Act, schedule: Schedule, ground: Ground, cable: Cable
) -> Iterator[OutingFinding]:
    """Compare the cable with the straight line, which it can never be shorter than."""
    person = act.who[0]
    laid = schedule.leg.laying.get((act.id, person))
    if laid is None or laid.ends is None or laid.ends.grip is None:
        return
    places = ground.grips(person).position_m
    apart_m = float(
        np.linalg.norm(places[schedule.leg.grips[act.id, person]] - places[laid.ends.grip])
    )
    if apart_m > cable.length_m + LENGTH_SLACK_M:
        yield finding_at(
            (act, schedule.start_s(act.id)),
            "cable-too-short",
            (cable.id,),
            f"{cable.id} is {length_text(cable.length_m, 'down')} long, and "
            f"{laid.from_site} and {laid.to_site} are "
            f"{length_text(apart_m, 'up')} apart in a straight line",
            "use a longer cable",
            (apart_m, cable.length_m, "m"),
        )


def _rails_after(schedule: Schedule, at_s: float) -> tuple[str, ...]:
    """Return the handrails that ways use once the cable lies there."""
    found = set()
    for person in schedule.plan.outing.people:
        for _, end_s, trip in trips_in_time(schedule, person.id):
            if end_s > at_s and trip.route is not None:
                found |= {one.handrail for one in trip.route.handrails if one.handrail}
    return tuple(sorted(found))
