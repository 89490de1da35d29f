"""One payload held by two people from two sides: two chains that pull against each other."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np

from routing.worksites.ties.attach_search import AttachSearch, Tied
from routing.worksites.ties.kit import Series, TetherKit
from routing.worksites.ties.measured import ROUNDING_M, margin_m
from structures.solids.axes import Flags, Floats, Indices, norms
from structures.solids.sight import crosses_any

__all__ = ["PLACE_STEP_M", "TwoSides", "find_two_sides"]

PLACE_STEP_M = 0.25
"""Places on handrails are taken no farther apart than this, with ends and corners [m]."""

_MOST_TRIES = 200
"""So many pairs are measured at most until one keeps clear of all zones and seams."""


@dataclass(frozen=True, slots=True)
class TwoSides:
    """Two chains on two handrails, with no tether in both."""

    attach: tuple[str, str]
    tied: tuple[Tied, Tied]
    held_deg: float
    """Angle between the two pulls while held [deg]."""
    seated_deg: float
    """The same once seated [deg]."""


@dataclass(slots=True, eq=False)
class _Places:
    """Places from which both positions of one attach point are in plain sight."""

    search: AttachSearch
    rail: Indices
    along_m: Floats
    held_m: Floats
    seated_m: Floats
    held_pull: Floats
    seated_pull: Floats
    good: Flags

    @classmethod
    def of(cls, search: AttachSearch) -> "_Places":
        lines = search.search.rails.lines
        along = [line.samples_m(PLACE_STEP_M) for line in lines]
        rail = np.repeat(np.arange(len(lines)), [len(some) for some in along])
        points = np.concatenate(
            [line.points_at(some) for line, some in zip(lines, along, strict=True)]
        )
        seen = np.ones(len(points), dtype=np.bool_)
        lengths, pulls = [], []
        for to in (search.search.held, search.search.seated):
            there = np.broadcast_to(to.point_m, points.shape)
            seen &= to.may_see(points) & ~crosses_any(to.zones.shapes, points, there)
            lengths.append(to.straight_m(points))
            pulls.append((points - to.point_m) / np.maximum(lengths[-1], 1e-12)[:, None])
        along_m = np.concatenate(along)
        return cls(
            search=search,
            rail=rail[seen],
            along_m=along_m[seen],
            held_m=lengths[0][seen],
            seated_m=lengths[1][seen],
            held_pull=pulls[0][seen],
            seated_pull=pulls[1][seen],
            good=np.ones(int(seen.sum()), dtype=np.bool_),
        )

    def margins_m(self, series: Series) -> Floats:
        """Return how far both lines are from the nearer end of a span; -inf where ruled out."""
        farther = np.maximum(self.held_m, self.seated_m)
        nearer = np.minimum(self.held_m, self.seated_m)
        margin = np.minimum(series.extended_m - farther, nearer - series.cinched_m)
        return np.where(self.good & (margin >= -ROUNDING_M), margin, -np.inf)

    def tied(self, index: int, series: Series) -> Tied | None:
        """Measure one place as chains are; rule it out if it does not hold what sight promised."""
        rail, along_m = int(self.rail[index]), float(self.along_m[index])
        place = self.search.search.place(rail, along_m)
        here_m = margin_m(place, series)
        if place.zone is None and here_m >= -ROUNDING_M:
            return Tied(series, self.search.names[rail], place, here_m, here_m)
        self.good[index] = False
        return None


def find_two_sides(
    searches: Mapping[str, AttachSearch], kit: TetherKit, apart_deg: float
) -> TwoSides | None:
    """Find two chains with which two people hold one payload from two sides.

    They are tied to two handrails, at two attach points if there are two, use
    no tether twice, and pull at least ``apart_deg`` apart in both positions.
    Fewest tethers in all, then the greatest least margin, then the lower ids.

    Parameters
    ----------
    searches
        What can be tied to each attach point, by its id.
    kit
        The kit of both people together.
    apart_deg
        Least angle between the pulls [deg].

    Notes
    -----
    Chosen among places `PLACE_STEP_M` apart on the handrails that see both
    positions: a pair that needs a line round a solid, or only fits between two
    such places, is not found.
    """
    places = {attach: _Places.of(search) for attach, search in sorted(searches.items())}
    ids = sorted(places)
    pairs = list(combinations(ids, 2)) if len(ids) > 1 else [(ids[0], ids[0])]
    series = [one for search in list(searches.values())[:1] for one in search.tried()]
    both = sorted(
        ((a, b) for a, b in product(series, series) if _fits(a, b, kit)),
        key=lambda pair: (pair[0].tethers + pair[1].tethers, pair[0].key, pair[1].key),
    )
    for total in sorted({one.tethers + other.tethers for one, other in both}):
        same = [pair for pair in both if pair[0].tethers + pair[1].tethers == total]
        for _ in range(_MOST_TRIES):
            best = _best(places, pairs, same, apart_deg)
            if best is None:
                break
            attach, used, (i, k) = best
            first, second = places[attach[0]], places[attach[1]]
            one, other = first.tied(i, used[0]), second.tied(k, used[1])
            if one is not None and other is not None:
                return TwoSides(
                    attach,
                    (one, other),
                    _angle_deg(first.held_pull[i], second.held_pull[k]),
                    _angle_deg(first.seated_pull[i], second.seated_pull[k]),
                )
    return None


def _fits(one: Series, other: Series, kit: TetherKit) -> bool:
    return all(
        have is None or a + b <= have
        for a, b, have in zip(one.used, other.used, kit.counts, strict=True)
    )


def _best(
    places: Mapping[str, _Places],
    pairs: list[tuple[str, str]],
    series: list[tuple[Series, Series]],
    apart_deg: float,
) -> tuple[tuple[str, str], tuple[Series, Series], tuple[int, int]] | None:
    """Return the pair of places with the greatest least margin, the first of equals."""
    found: tuple[float, tuple[str, str], tuple[Series, Series], tuple[int, int]] | None = None
    most_cos = np.cos(np.radians(apart_deg)) + 1e-12
    for attach in pairs:
        first, second = places[attach[0]], places[attach[1]]
        apart = (
            (first.held_pull @ second.held_pull.T <= most_cos)
            & (first.seated_pull @ second.seated_pull.T <= most_cos)
            & (first.rail[:, None] != second.rail)
        )
        if not apart.any():
            continue
        for used in series:
            margins = np.minimum(
                first.margins_m(used[0])[:, None], second.margins_m(used[1])[None, :]
            )
            margins = np.where(apart, np.round(margins, 9), -np.inf)
            at = int(margins.argmax())
            i, k = divmod(at, margins.shape[1])
            if np.isfinite(margins[i, k]) and (found is None or margins[i, k] > found[0]):
                found = float(margins[i, k]), attach, used, (i, k)
    return None if found is None else found[1:]


def _angle_deg(first: Floats, second: Floats) -> float:
    """Return the angle between two directions [deg], also where it is near 0 or 180."""
    both = np.stack([first, second])
    wide = norms(np.array([both[0] - both[1], both[0] + both[1]]))
    return float(np.degrees(2 * np.arctan2(wide[0], wide[1])))
