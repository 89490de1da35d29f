"""Why no chain can be tied: the place that comes nearest to one, and what it lacks."""

from collections.abc import Sequence

import numpy as np

from routing.worksites.ties.kit import Series
from routing.worksites.ties.measured import ROUNDING_M, TiePlace, margin_m
from routing.worksites.ties.search import TieSearch
from structures.units import fine_text

__all__ = ["why_no_place"]

_STEP_M = 0.25
"""How finely rails are looked at for the reason [m]; the answer itself does not rest on it."""


def why_no_place(
    search: TieSearch, names: Sequence[str], series: Sequence[Series]
) -> tuple[str, str]:
    """Return the reason in words, and the handrail that comes nearest.

    Parameters
    ----------
    search
        A search that found nothing for any of the series.
    names
        Ids of its rails.
    series
        What was tried, in order.
    """
    places = [search.measured[key] for key in sorted(search.measured)]
    fits = _fits(places, series)
    if not any(np.isfinite(margin) for margin, _, _ in fits):
        fits = _fits([_nearest_to_fit(search, series)], series)
    margin, minus_rank, place = max(fits, key=lambda fit: (fit[0], fit[1]))
    name, tried = names[place.rail], series[-minus_rank]
    where = f"{name} at {place.along_m:.3f} m"
    if place.zone is not None and margin >= -ROUNDING_M:
        reason = (
            f"blocked by zone {place.zone}: from {where} the line is not certainly clear of it, "
            "nor is there another place from which a chain spans both positions"
        )
        return reason, name
    return f"{_lack(place, tried)} (best from {where})", name


def _fits(
    places: Sequence[TiePlace], series: Sequence[Series]
) -> list[tuple[float, int, TiePlace]]:
    """Return margin, minus the rank of the series, and place, for all of both."""
    return [
        (margin_m(place, one), -rank, place) for place in places for rank, one in enumerate(series)
    ]


def _nearest_to_fit(search: TieSearch, series: Sequence[Series]) -> TiePlace:
    """Return the place whose straight distances come nearest to any span, measured."""
    cinched_m = np.array([[one.cinched_m] for one in series])
    extended_m = np.array([[one.extended_m] for one in series])
    best: tuple[float, int, float] | None = None
    for rail, line in enumerate(search.rails.lines):
        along_m = line.samples_m(_STEP_M)
        points_m = line.points_at(along_m)
        held_m, seated_m = search.held.straight_m(points_m), search.seated.straight_m(points_m)
        over_m = np.maximum(held_m, seated_m) - extended_m
        under_m = cinched_m - np.minimum(held_m, seated_m)
        lack_m = np.maximum(over_m, under_m).min(axis=0)
        k = int(lack_m.argmin())
        one = (float(lack_m[k]), rail, float(along_m[k]))
        best = one if best is None or one < best else best
    if best is None:
        raise ValueError("a search without rails has no nearest place; say that none is allowed")
    return search.place(best[1], best[2])


def _lack(place: TiePlace, series: Series) -> str:
    """Say which end of the span is missed, in which position, and by how much."""
    words = series.words
    lacks = []
    for word, line in (("held", place.held), ("seated", place.seated)):
        if not np.isfinite(line.longest_m):
            lacks.append((np.inf, f"no way round the solids leads to the {word} position"))
        over_m, under_m = line.longest_m - series.extended_m, series.cinched_m - line.shortest_m
        far, near = fine_text(over_m, "up"), fine_text(under_m, "up")
        lacks.append((over_m, f"the {word} position is too far by at least {far} for {words}"))
        lacks.append(
            (under_m, f"the {word} position is too near by at least {near} to cinch {words}")
        )
    return max(lacks, key=lambda lack: lack[0])[1]
