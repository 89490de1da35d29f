"""What pictures of one worksite question share: the region round what is drawn, clear views."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.show.maps.additions import Additions, clear_views, region_of
from routing.show.maps.maps import draw_map
from routing.show.sheets.inputs import MapFacts
from structures.findings import Finding
from structures.model import Structure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["draw_around", "warned_of"]


def warned_of(findings: Iterable[Finding]) -> list[str]:
    """Return what findings stop or warn of, in the words that step texts have for it."""
    words = {"blocks": "STOP", "warns": "Watch"}
    return [f"{words[one.severity]}: {one.message}" for one in findings if one.severity in words]


def draw_around(
    structure: Structure,
    additions: Additions,
    asked: tuple[Situation, tuple[InputDigest, ...]],
    *,
    subject: str,
    margin_m: float,
    told: Sequence[str] = (),
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
    told
        What the answer warns of, for the title block: a picture goes on without its text.
    """
    situation, inputs = asked
    facts = MapFacts(
        subject=subject,
        told=tuple(told),
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
