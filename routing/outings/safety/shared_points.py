"""Two people whose safety tethers in use hang on one tether point.

A tether point takes any number of hooks, but its rating is asked for one person. At a hatch both
begin on its point; elsewhere that is a choice of the ways, which the plan can undo.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, groupby

from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.safety.moments import Moment
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground

__all__ = ["check_shared_points"]


def check_shared_points(
    ground: Ground, moments: Mapping[str, Sequence[Moment]], end_s: float
) -> Iterator[OutingFinding]:
    """Yield tether points that hold two people at once and are not known to be rated for two.

    Parameters
    ----------
    moments
        Of each person, by time.
    end_s
        Until when the last ones last [s].

    Yields
    ------
    OutingFinding
        One for each pair of people and point, at the first time.
    """
    hatch_points = {hatch.tether_point for hatch in ground.structure.hatches}
    least_n = ground.limits.tether_point_rating_n
    hangs = {one: list(_hangs(found, end_s)) for one, found in moments.items()}
    for one, other in combinations(sorted(hangs), 2):
        said: set[int] = set()
        for first_s, until_s, point, act in hangs[one]:
            for start_s, stop_s, others, _ in hangs[other]:
                both_s = min(until_s, stop_s) - max(first_s, start_s)
                if point != others or point in said or both_s <= SLACK_ZERO_S:
                    continue
                said.add(point)
                known = ground.tether_points[point]
                if known.id in hatch_points or (known.rating_n or 0.0) >= 2 * least_n:
                    continue
                at_s = max(first_s, start_s)
                rated = (
                    "of which the rating is not known"
                    if known.rating_n is None
                    else f"which is rated for {known.rating_n / 1000:.2f} kN"
                )
                yield OutingFinding(
                    code="tether-point-shared",
                    severity="warns",
                    act=act,
                    person=one,
                    at_s=at_s,
                    elements=(known.id,),
                    message=f"{one} and {other} both hang on {known.id} (at {clock(at_s)}), "
                    f"{rated}; one safety tether asks for {least_n / 1000:.2f} kN",
                    remedy="let one of them go there another way or hook on elsewhere, or find out "
                    "whether the point holds two",
                    value=known.rating_n,
                    limit=2 * least_n,
                    unit="N",
                )


def _hangs(
    moments: Sequence[Moment], end_s: float
) -> Iterator[tuple[float, float, int, str | None]]:
    """Yield (from, until, tether point, act) of the tether that somebody hangs on."""
    known = (one for one in moments if one.state is not None)
    stretches = [list(some) for _, some in groupby(known, key=_point)]
    ends_s = [*(some[0].at_s for some in stretches), end_s][1:]
    for some, until_s in zip(stretches, ends_s, strict=True):
        yield some[0].at_s, until_s, _point(some[0]), some[0].act


def _point(moment: Moment) -> int:
    if moment.state is None:
        raise AssertionError("only who is on a reel hangs on a tether point")
    return moment.state.stack[-1].point
