"""The picture of a cable: its run over ties from connector to connector, and other ways."""

from typing import TYPE_CHECKING

from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.show.maps.additions import Additions, MapLine, MapMark
from routing.show.pictures.around import draw_around
from routing.worksites.cables.runs import CableRun, CableRuns
from structures.cables import Connector
from structures.frames import Vector
from structures.model import Structure
from structures.units import length_text

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["cable_additions", "draw_cable"]

_AROUND_M = 1.0


def cable_additions(structure: Structure, found: CableRuns) -> Additions:
    """Return the runs found, their ties and both connectors."""
    runs = [*found.others[::-1], *([] if found.best is None else [found.best])]
    lines = [
        MapLine(
            look=_look(run, found), points_m=_points(run), label=length_text(run.needed_m, "up")
        )
        for run in runs
    ]
    spare = {} if found.best is None else {one.tie: one for one in found.best.stowed}
    tied = dict.fromkeys(tie for run in runs for tie in run.ties)
    marks = [
        MapMark(
            look="spare" if tie.id in spare else "cable tie",
            position_m=tie.position_m,
            label=f"{tie.id}: {length_text(spare[tie.id].length_m)}" if tie.id in spare else tie.id,
        )
        for tie in structure.cable_ties
        if tie.id in tied
    ]
    for end in (found.start, found.goal):
        connector = structure.find(end, (Connector,))
        marks.append(MapMark(look="connector", position_m=connector.position_m, label=end))
    return Additions(lines=tuple(lines), marks=tuple(marks))


def draw_cable(
    structure: Structure, found: CableRuns, situation: Situation, inputs: tuple[InputDigest, ...]
) -> "Figure":
    """Draw the region around a cable's runs, in three views; without a run, its connectors."""
    additions = cable_additions(structure, found)
    trip = f"{found.cable} from {found.start} to {found.goal}"
    subject = trip if found.safe else f"CANNOT BE LAID: {trip}"
    return draw_around(
        structure,
        additions,
        (situation, inputs),
        subject=subject,
        margin_m=_AROUND_M,
        told=[found.reason] if found.reason else [],
    )


def _look(run: CableRun, found: CableRuns) -> str:
    if run.verdict == "too short":
        return "short cable"
    return "cable" if run is found.best else "other cable"


def _points(run: CableRun) -> tuple[Vector, ...]:
    points: list[Vector] = []
    for span in run.spans:
        points.extend(span.points_m if not points else span.points_m[1:])
    return tuple(points)
