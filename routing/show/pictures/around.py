"""What pictures of one worksite question share: the region round what is drawn, clear views."""

from typing import TYPE_CHECKING

from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.show.maps.additions import Additions, clear_views, region_of
from routing.show.maps.maps import draw_map
from routing.show.sheets.inputs import MapFacts
from structures.model import Structure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["draw_around"]


def draw_around(
    structure: Structure,
    additions: Additions,
    asked: tuple[Situation, tuple[InputDigest, ...]],
    *,
    subject: str,
    margin_m: float,
) -> "Figure":
    """Draw a structure round what is added to it, in the views in which that is clear.

    Parameters
    ----------
    asked
        The situation that the answer is for, and the digests of the files read for it.
    subject
        What the picture is of; says first of all what is not safe.
    margin_m
        So much of the structure is shown round what is added [m].
    """
    situation, inputs = asked
    facts = MapFacts(
        subject=subject,
        inputs=inputs,
        limits=situation.limits,
        when=situation.when,
        closed=situation.closed,
    )
    return draw_map(
        structure,
        views=clear_views(structure, additions),
        facts=facts,
        region=region_of(additions, margin_m=margin_m),
        additions=additions,
    )
