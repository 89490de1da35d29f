"""What the title block of a map says of the routes on it: protocol, reels, person, outcome."""

from collections.abc import Sequence

from routing.graph.situation import Situation
from routing.paths.answers.results import HOME_NOT_LOOKED_AT, Route
from routing.paths.tethers.kit import kit_text
from structures.counting import counted

__all__ = ["told_of"]


def told_of(
    routes: Sequence[Route], situation: Situation, names: Sequence[str] = ()
) -> tuple[str, ...]:
    """Return how routes were asked for and what came of each, a text for each subject.

    Parameters
    ----------
    routes
        The routes drawn; without one there is nothing to tell.
    situation
        Who moves with what.
    names
        What each route is called; not needed for one.

    Returns
    -------
    tuple
        First what all have in common. Protocol and reels go with each route where they differ.
    """
    if not routes:
        return ()
    ways = [_way(route) for route in routes]
    alike = len(set(ways)) == 1
    person, carry = situation.person, situation.carry
    common = [ways[0]] if alike else []
    common.append(
        f"person {person.name or person.id}" if person else "reach and rate of the limits"
    )
    if carry is not None:
        common.append(f"carrying {carry.name or carry.id}")
    called = names or ("",) * len(routes)
    told = ["; ".join(common)]
    for route, name, way in zip(routes, called, ways, strict=True):
        outcome = _outcome(route) if alike else f"{way}: {_outcome(route)}"
        told.append(f"{name}: {outcome}" if name else outcome)
    return tuple(told)


def _way(route: Route) -> str:
    reels = f", {kit_text(route.reels_m)}" if route.reels_m else ""
    return f"protocol {route.protocol}{reels}"


def _outcome(route: Route) -> str:
    verdict = route.verdict if route.safe else route.verdict.upper()
    unasked = f"; {HOME_NOT_LOOKED_AT}" if route.home == "not checked" else ""
    totals = route.totals
    return (
        f"{verdict}, {totals.seconds:.0f} s, {totals.distance_m:.2f} m, "
        f"{counted(totals.transfers, 'transfer')}{unasked}"
    )
