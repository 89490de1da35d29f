"""Why no way leads home with the partner in tow: which hand-over, limit or zone it is.

Two people are wider and reach less far than one. So what does not go is looked for
on the quickest way home that the person would have alone, hand-over by hand-over;
another way round may fail elsewhere.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from routing.graph.diagnosis import Obstacle, why_not, why_unusable
from routing.graph.reach_graph import ReachGraph
from routing.outings.clock.schedule import Schedule
from routing.outings.plan_file.records import OutingPerson
from routing.outings.safety.moments import Moment
from routing.outings.told.causes import Cause, cause_of
from routing.outings.translations import Ground
from structures.counting import counted
from structures.units import fine_text

__all__ = ["tow_cause"]


def tow_cause(schedule: Schedule, ground: Ground, person: OutingPerson, moment: Moment) -> Cause:
    """Return what keeps two people from getting home from a moment, where no way leads there.

    Empty where no way leads home alone either: what shuts that is told of it.
    """
    homes = ground.homes
    why = homes.no_hatch(person, moment, tow=True)
    if why:
        return Cause(message=f"two people do not get in: {why}")
    graph = ground.tow_graph(person.id, moment.when)
    found = why_unusable(graph, moment.grip)
    if found:
        return _told(schedule, ground, (person, moment), "there is no room for two", found, ())
    if homes.free_way(person, moment, tow=True):
        home = homes.one(person, moment, leave=True, tow=True)
        return Cause(message=f"the hands of two could go, but not the tether: {home.why}")
    lost = [
        (one, other)
        for one, other in pairwise(homes.free_way(person, moment, tow=False))
        if not _leads(graph, one, other)
    ]
    if not lost:
        return Cause()
    ids = graph.grips.ids
    obstacles = [why_not(graph, *pair) for pair in lost]
    words = (
        f"in tow {counted(len(lost), 'move')} of the quickest way home alone "
        f"{'does' if len(lost) == 1 else 'do'} not go, the first from {ids[lost[0][0]]} to "
        f"{ids[lost[0][1]]}"
    )
    return _told(schedule, ground, (person, moment), words, obstacles[0], obstacles[1:])


def _told(
    schedule: Schedule,
    ground: Ground,
    who: tuple[OutingPerson, Moment],
    words: str,
    first: tuple[Obstacle, ...],
    others: Sequence[tuple[Obstacle, ...]],
) -> Cause:
    """Return the cause with the two people's sizes, and the conditions that may shut the way."""
    person, moment = who
    ability = ground.tow_graph(person.id, moment.when).situation.ability
    every = (one for obstacles in (first, *others) for one in obstacles)
    elements = tuple(dict.fromkeys(element for one in every for element in one.elements))
    message = (
        f"{words}: {'; '.join(one.message for one in first)} (two people: "
        f"radius {fine_text(ability.corridor_radius_m)} by tow_envelope, reach "
        f"{fine_text(ability.reach_m)} by tow_reach_factor)"
    )
    if moment.when:

        def opens(when: tuple[str, ...]) -> bool:
            there = replace(moment, when=when)
            home = ground.homes.one(person, there, leave=True, tow=True)
            return home.seconds is not None

        cause = cause_of(schedule, ground, moment.when, opens)
        if cause.message:
            both = tuple(dict.fromkeys((*elements, *cause.elements)))
            return Cause(f"{message}; {cause.message}", cause.remedy, both)
    return Cause(message=message, elements=elements)


def _leads(graph: ReachGraph, tail: int, head: int) -> bool:
    """Tell whether there is a move from one grip to another."""
    first, last = graph.moves.indptr[tail : tail + 2].tolist()
    return head in graph.moves.head[first:last]
