"""What would let two people home: over all ways, not only the quickest one.

How much wider two people are and how much less far they reach are placeholders of the limits, so
the answer names them: with the reach or the room of one person, or with both, from how much of
the time would the hands of two find a way home. Tethers are left out of it.
"""

from collections.abc import Collection, Mapping
from math import ceil, inf
from typing import Final

from routing.limits import Limits
from routing.outings.plan_file.records import OutingPerson
from routing.outings.translations import Ground, kit_of
from routing.paths.home.homeward import HomeGround, NoWayHomeError
from routing.paths.search.least_time import least_time_tree

__all__ = ["tow_openings"]

_OPENINGS: Final[tuple[tuple[str, dict[str, float]], ...]] = (
    ("the reach of one (tow_reach_factor 1)", {"tow_reach_factor": 1.0}),
    ("the room of one (tow_envelope 0)", {"tow_envelope_m": 0.0}),
    ("both", {"tow_reach_factor": 1.0, "tow_envelope_m": 0.0}),
)


def tow_openings(
    ground: Ground, person: OutingPerson, held_s: Mapping[str, float], when: Collection[str]
) -> str:
    """Return from how much of a time each limit of two people alone shuts the way, as a clause.

    Parameters
    ----------
    held_s
        Grips of this person from which no way leads home in tow, and for how long [s].
    when
        Conditions that may be in force at any time of it: all of them count all the time, so
        that what is said to open a way does.
    """
    found = [
        (words, _opened_s(ground, person, changed, held_s, tuple(sorted(when))))
        for words, changed in _OPENINGS
    ]
    every_s = sum(held_s.values())
    said = ", ".join(f"{_part(opened_s, every_s)} with {words}" for words, opened_s in found)
    return (
        f"over all ways, the hands of two would find one for so much of these "
        f"{ceil(every_s / 60 - 1e-6)} min: {said}"
    )


def _part(opened_s: float, every_s: float) -> str:
    """Return whole minutes: what opens is never said to be more than it is."""
    if opened_s >= every_s - 1e-6:
        return "all"
    return "none" if opened_s == 0 else f"{int(opened_s / 60 + 1e-6)} min"


def _opened_s(
    ground: Ground,
    person: OutingPerson,
    changed: Mapping[str, float],
    held_s: Mapping[str, float],
    when: tuple[str, ...],
) -> float:
    limits: Limits = ground.limits.model_copy(update=dict(changed))
    graph = ground.tow_graph(person.id, when, limits)
    try:
        on = HomeGround(
            graph=graph,
            protocol=person.protocol,
            kit=kit_of(person, limits),
            hatch=person.start,
            leave=person.protocol == "reel",
        )
    except NoWayHomeError:
        return 0.0
    network = on.ground.network if person.protocol == "reel" else on.network
    cost_s = least_time_tree(network.reverse, dict.fromkeys(on.hatches, 0.0)).cost
    numbers = {one: i for i, one in enumerate(graph.grips.ids)}
    return sum(
        seconds
        for grip, seconds in held_s.items()
        if grip in numbers and cost_s[numbers[grip]] < inf
    )
