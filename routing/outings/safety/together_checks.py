"""Two people at once: nobody at the place of another, and hands that reach each other."""

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

import numpy as np

from routing.graph.reach_graph import GripKind
from routing.outings.clock.activity_plan import way_id
from routing.outings.clock.conditions import conditions_during
from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import Schedule
from routing.outings.custody.handling import Stock
from routing.outings.plan_file.acts import OFF_STRUCTURE
from routing.outings.plan_file.records import Act
from routing.outings.safety.hand_over_room import hands_meet
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground
from structures.units import fine_text

__all__ = ["check_hand_overs", "check_same_place"]


class _Stay(NamedTuple):
    """A person at one grip, from arriving for an act until leaving for the next."""

    start_s: float
    end_s: float
    act: Act
    person: str
    grip: int


def check_same_place(schedule: Schedule, ground: Ground) -> Iterator[OutingFinding]:
    """Yield pairs of people who are at one grip at the same time.

    Sockets and handholds hold one person. On handrails only acts done together
    count here: who is near whom there at other times is watched apart from this.
    Hatches hold everybody.
    """
    people = [person.id for person in schedule.plan.outing.people]
    stays = {person: list(_stays(schedule, person)) for person in people}
    for one, other in combinations(people, 2):
        said: set[int] = set()
        for first in stays[one]:
            for second in stays[other]:
                both_s = min(first.end_s, second.end_s) - max(first.start_s, second.start_s)
                if first.grip != second.grip or both_s <= SLACK_ZERO_S or first.grip in said:
                    continue
                kind = ground.grips(one).kind[first.grip]
                together = first.act.id == second.act.id
                if kind == GripKind.HATCH or (kind == GripKind.HANDRAIL and not together):
                    continue
                said.add(first.grip)
                yield _same_place(first, second, ground.grips(one).ids[first.grip])


def _stays(schedule: Schedule, person: str) -> Iterator[_Stay]:
    acts = schedule.plan.acts_of(person)
    for i, act in enumerate(acts):
        grip = schedule.leg.grips.get((act.id, person))
        if grip is None or (act.id, person) in schedule.leg.laying:
            continue
        later = schedule.acts_end_s
        if i + 1 < len(acts):
            way = way_id(acts[i + 1].id, person)
            # Whoever need not move waits at the place for the next act.
            later = schedule.start_s(way if way in schedule.leg.trips else acts[i + 1].id)
        yield _Stay(schedule.end_s(way_id(act.id, person)), later, act, person, grip)


def _same_place(first: _Stay, second: _Stay, grip: str) -> OutingFinding:
    act = max(first, second, key=lambda one: one.start_s).act
    at_s = max(first.start_s, second.start_s)
    return OutingFinding(
        code="same-place",
        severity="blocks",
        act=act.id,
        person=second.person,
        at_s=at_s,
        elements=(grip,),
        message=f"{first.person} ({first.act.id}) and {second.person} ({second.act.id}) are both "
        f"at {grip} (at {clock(at_s)})",
        remedy="let one of them be at another grip (at, or beside in an act done together), or "
        "let one wait until the other has left",
        value=0.0,
        unit="m",
    )


def check_hand_overs(schedule: Schedule, ground: Ground, stock: Stock) -> Iterator[OutingFinding]:
    """Yield items given from hand to hand between people whose hands do not meet.

    Each holds on with one hand and reaches as far as from hand to hand, so their
    grips may be both reaches apart, where no solid or zone is between the hands.
    """
    for act in schedule.plan.acts:
        partner = act.into if act.does == "put" else act.out_of if act.does == "fetch" else None
        giver = act.who[0]
        if partner is None or partner == giver or partner not in act.who or giver in OFF_STRUCTURE:
            continue
        found = [schedule.leg.grips.get((act.id, one)) for one in (giver, partner)]
        grips = [grip for grip in found if grip is not None]
        if len(grips) < len(found):
            continue  # a way that is missing is said already
        places = ground.grips(giver)
        places_m, normals = places.position_m[grips], places.normal[grips]
        apart_m = float(np.linalg.norm(places_m[0] - places_m[1]))
        reaches_m = [_reach_m(ground, one) for one in (giver, partner)]
        when = conditions_during(schedule.plan, act.id)
        item = stock.item(act.item or "")
        said = f"{act.item} goes from hand to hand between {giver} and {partner}"
        ids = (places.ids[grips[0]], places.ids[grips[1]])
        at_s = schedule.start_s(act.id)
        if apart_m > sum(reaches_m):
            yield OutingFinding(
                code="out-of-reach-of-each-other",
                severity="blocks",
                act=act.id,
                person=giver,
                at_s=at_s,
                elements=(act.item or "", partner),
                message=f"{said}, whose grips are {fine_text(apart_m, 'up')} apart, "
                f"{fine_text(sum(reaches_m), 'down')} is what both reach (at {clock(at_s)})",
                remedy="bring them nearer: at and beside",
                value=apart_m,
                limit=sum(reaches_m),
                unit="m",
            )
        elif not hands_meet(ground.around(giver, item, when), places_m, normals, reaches_m):
            yield OutingFinding(
                code="hand-over-blocked",
                severity="blocks",
                act=act.id,
                person=giver,
                at_s=at_s,
                elements=(act.item or "", partner, *ids),
                message=f"{said} at {ids[0]} and {ids[1]}, but a solid or a keep-out zone is "
                f"between their hands wherever they could meet (at {clock(at_s)})",
                remedy="let both be on the same side: at and beside",
            )


def _reach_m(ground: Ground, person: str) -> float:
    own = ground.people[person].reach_m
    return ground.limits.reach_m if own is None else own
