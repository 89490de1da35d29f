"""The latest moment to turn home, for each person at each act."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from routing.outings.safety.safety_records import HomeCurve, TurnHome

__all__ = ["turn_home_moments"]


def turn_home_moments(curves: Iterable[HomeCurve]) -> tuple[TurnHome, ...]:
    """Return for each person and act the latest moment to turn home, in the order of the curves.

    The way to an act counts as part of it: what holds is the earliest of the moments at
    any grip of it. Where no way leads home from one of them no moment is known. For a person
    one of whose ways was not found there is none at all: where later acts lead is not known.
    """
    return tuple(one for curve in curves if curve.complete for one in _of_person(curve))


def _of_person(curve: HomeCurve) -> Iterator[TurnHome]:
    found: dict[str | None, TurnHome] = {}
    for point in curve.points:
        known = found.get(point.act)
        if known is None:
            found[point.act] = TurnHome(
                person=curve.person,
                act=point.act,
                from_s=point.at_s,
                turn_by_s=point.latest_turn_s,
                home_s=point.home_s,
            )
            continue
        if point.latest_turn_s is None or known.turn_by_s is None:
            worse = replace(known, turn_by_s=None, home_s=None)
        elif point.latest_turn_s < known.turn_by_s:
            worse = replace(known, turn_by_s=point.latest_turn_s, home_s=point.home_s)
        else:
            continue
        found[point.act] = worse
    yield from found.values()
