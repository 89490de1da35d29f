"""The picture of a tied payload: chains from the handrails to it, held and seated."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.show.maps.additions import Additions, MapLine, MapMark
from routing.show.pictures.around import draw_around, warned_of
from routing.show.sheets.inputs import DrawingError
from routing.worksites.ties.details import TiedChain, TieDetails
from structures.elements import AttachPoint, Worksite
from structures.frames import Vector
from structures.model import Structure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["draw_tie", "tie_additions"]

_AROUND_M = 1.2

_LABELS_APART_M = 0.3


def tie_additions(structure: Structure, details: TieDetails) -> Additions:
    """Return chains, places on handrails and both positions of every attach point."""
    worksite = structure.find(details.worksite, (Worksite,))
    attach = worksite.attach
    lines, marks = [], []
    shown = details.chains
    if details.by_two is not None:
        shown += details.by_two.chains
    for chain in shown:
        lines += [
            MapLine(look="held", points_m=chain.held.points_m),
            MapLine(look="seated", points_m=chain.seated.points_m),
        ]
    for place_m, label in _places(details).items():
        marks.append(MapMark(look="tie", position_m=place_m, label=label))
    for point in sorted(attach, key=lambda one: one.id):
        marks += _positions(point)
    return Additions(lines=tuple(lines), marks=tuple(marks))


def draw_tie(
    structure: Structure, details: TieDetails, situation: Situation, inputs: tuple[InputDigest, ...]
) -> "Figure":
    """Draw the region around a worksite with its chains, in three views.

    Raises
    ------
    DrawingError
        The worksite has no attach point.
    """
    if details.verdict == "nothing to tie":
        raise DrawingError(
            f"worksite {details.worksite} has nothing to tie, so there is no picture; "
            "give it attach points"
        )
    additions = tie_additions(structure, details)
    word = "NOT TIED: " if details.verdict != "ok" else "" if details.safe else "NOT SAFE: "
    reasons = [
        details.drift_told,
        details.answer.reason,
        *(one.reason for one in details.answer.attach),
    ]
    return draw_around(
        structure,
        additions,
        (situation, inputs),
        subject=f"{word}equipment tethers at {details.worksite}",
        margin_m=_AROUND_M,
        told=[*(one for one in reasons if one), *warned_of(details.findings)],
    )


def _places(details: TieDetails) -> dict[Vector, str]:
    """Return where chains are tied, each once, with what is tied there.

    Places so near to each other on one handrail that labels would lie on top of each
    other share one, at the first of them.
    """
    words: dict[Vector, list[str]] = {}
    for chains in _beside_each_other(details.chains):
        for chain in chains:
            words.setdefault(chain.place_m, [])
        words[chains[0].place_m].append(_words(chains))
    for number, chain in enumerate(details.by_two.chains if details.by_two else (), start=1):
        words.setdefault(chain.place_m, []).append(f"EV{number}: {_words([chain])}")
    return {place: "; ".join(some) for place, some in words.items()}


def _beside_each_other(chains: Sequence[TiedChain]) -> list[list[TiedChain]]:
    groups: list[list[TiedChain]] = []
    for chain in sorted(chains, key=lambda one: (one.handrail, one.along_m, one.attach)):
        last = groups[-1][-1] if groups else None
        beside = last is not None and last.handrail == chain.handrail
        if last is not None and beside and chain.along_m - last.along_m < _LABELS_APART_M:
            groups[-1].append(chain)
        else:
            groups.append([chain])
    return groups


def _words(chains: Sequence[TiedChain]) -> str:
    """Return the handrail once, and all tethers that are hooked there together."""
    used: dict[str, int] = {}
    for chain in chains:
        for part in chain.chain:
            used[part.tether] = used.get(part.tether, 0) + part.count
    made = " + ".join(f"{count} x {tether}" for tether, count in sorted(used.items()))
    if len(chains) > 1:
        return f"{chains[0].handrail}, {len(chains)} chains: {made}"
    return f"{chains[0].handrail} at {chains[0].along_m:.2f} m: {made}"


def _positions(point: AttachPoint) -> list[MapMark]:
    return [
        MapMark(look="held", position_m=point.held_m, label=f"{point.id} held"),
        MapMark(look="seated", position_m=point.seated_m, label=f"{point.id} seated"),
    ]
