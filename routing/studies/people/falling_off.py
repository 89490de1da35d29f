"""From which reach on each worksite can be reached: where it falls off for smaller people."""

from collections import OrderedDict
from typing import Final

from routing.graph.sites import worksite_away_m
from routing.studies.people.feasible import Feasible, PeopleCase
from structures.frozen import frozen

__all__ = ["BELOW_M", "FallingOff", "falling_off"]

BELOW_M: Final = 1e-6
"""Just below: so much less reach is tried to see that a worksite has fallen off [m]."""
_BISECTED_TO_M: Final = 1e-4
_KEPT_GRAPHS: Final = 16


@frozen(kw_only=True)
class FallingOff:
    """Where one worksite falls off.

    Parameters
    ----------
    reach_m
        With this reach, the person's own before a load, it is reached; None if with
        no reach up to the largest one looked at [m].
    not_below_m
        With this one it is not [m]; None where no lesser reach was found to fail.
    exact
        Whether the two are no more than a micrometre apart.
    """

    reach_m: float | None
    not_below_m: float | None
    exact: bool


def falling_off(case: PeopleCase, up_to_m: float) -> dict[str, FallingOff]:
    """Return for each worksite the least reach with which it is reached.

    Parameters
    ----------
    case
        Who goes how.
    up_to_m
        The largest reach looked at [m].

    Notes
    -----
    In one graph the least reach is the shortest longest hand-over on any way,
    so only the lengths of hand-overs come into question. But which grips there
    are depends on the reach too: with less of it the nearest places of handrails
    farther apart are no grips any more. So the graph is built again with the reach
    found, and just below it: the worksite must be reached with the one and not
    with the other. Where grips that are gone decide, it is narrowed down by halves
    to a tenth of a millimetre, and the reach given is one that was seen to do.
    """
    graphs = _Graphs(case)
    return {site: _falls_off(graphs, site, up_to_m) for site in case.worksites}


class _Graphs:
    """What was found with each reach that was tried."""

    def __init__(self, case: PeopleCase) -> None:
        self.case = case
        self._made: OrderedDict[float, Feasible] = OrderedDict()

    def _of(self, reach_m: float) -> Feasible:
        if reach_m not in self._made:
            self._made[reach_m] = Feasible(self.case, reach_m)
            if len(self._made) > _KEPT_GRAPHS:
                self._made.popitem(last=False)
        self._made.move_to_end(reach_m)
        return self._made[reach_m]

    def is_reached(self, reach_m: float, site: str) -> bool:
        """Tell whether a worksite is reached with a reach."""
        return self._of(reach_m).is_reached(site)

    def needs_m(self, reach_m: float, site: str) -> float | None:
        """Return the person's reach that a worksite needs in the graph of a reach, if it is in.

        Hands must get there, and from there, whatever was carried, to the place itself.
        """
        found = self._of(reach_m)
        way_m = found.least_way_m(site)
        if way_m is None:
            return None
        return max(way_m / self.case.share, worksite_away_m(found.graph, site))


def _falls_off(graphs: _Graphs, site: str, up_to_m: float) -> FallingOff:
    needs_m = graphs.needs_m(up_to_m, site)
    if needs_m is None:
        return FallingOff(reach_m=None, not_below_m=up_to_m, exact=False)
    if needs_m <= BELOW_M:
        return FallingOff(reach_m=0.0, not_below_m=None, exact=True)
    if not graphs.is_reached(needs_m, site):
        return _narrowed(graphs, site, needs_m, up_to_m)
    below_m = needs_m - BELOW_M
    if not graphs.is_reached(below_m, site):
        return FallingOff(reach_m=needs_m, not_below_m=below_m, exact=True)
    # Other grips came with less reach (rounding to the millimetre): look on from there.
    return _falls_off(graphs, site, below_m)


def _narrowed(graphs: _Graphs, site: str, low_m: float, high_m: float) -> FallingOff:
    while high_m - low_m > _BISECTED_TO_M:
        middle_m = (low_m + high_m) / 2
        if graphs.is_reached(middle_m, site):
            high_m = middle_m
        else:
            low_m = middle_m
    return FallingOff(reach_m=high_m, not_below_m=low_m, exact=False)
