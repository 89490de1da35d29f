"""The picture of a face and the cameras that see it."""

from typing import TYPE_CHECKING

import numpy as np

from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.show.maps.additions import Additions, MapLine, MapMark
from routing.show.pictures.around import draw_around, warned_of
from routing.worksites.sight.records import FaceSight
from structures.faces import Face
from structures.frames import Vector
from structures.model import Structure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["draw_sight", "sight_additions"]

_AROUND_M = 1.0


def sight_additions(structure: Structure, found: FaceSight) -> Additions:
    """Return the face's outline, the cameras of the cover, and what is seen from nowhere."""
    face = structure.find(found.face, (Face,))
    x, y, z = np.mean(found.samples_m, axis=0).tolist()
    middle = face.center_m if face.size_m is not None else (x, y, z)
    lines = [MapLine(look="face", points_m=_outline(face), label=face.id)]
    marks = []
    for one in found.cover:
        lines.append(MapLine(look="sight", points_m=(one.camera_m, middle)))
        label = f"{one.grip}: {100 * one.fraction:.0f} % after {one.seconds:.0f} s"
        marks.append(MapMark(look="vantage", position_m=one.camera_m, label=label))
    marks += [MapMark(look="unseen", position_m=found.samples_m[i]) for i in found.unseen]
    return Additions(lines=tuple(lines), marks=tuple(marks))


def draw_sight(
    structure: Structure, found: FaceSight, situation: Situation, inputs: tuple[InputDigest, ...]
) -> "Figure":
    """Draw the region round a face with the fewest cameras that see it."""
    additions = sight_additions(structure, found)
    blocked = any(one.severity == "blocks" for one in found.findings)
    word = "WAY THERE UNSAFE: " if blocked else "" if found.safe else "NOT ALL SEEN: "
    told = [found.reason] if found.reason else []
    return draw_around(
        structure,
        additions,
        (situation, inputs),
        subject=f"{word}sight of {found.face}",
        margin_m=_AROUND_M,
        told=[*told, *warned_of(found.findings)],
    )


def _outline(face: Face) -> tuple[Vector, ...]:
    normal = np.asarray(face.normal) / np.linalg.norm(face.normal)
    across = np.asarray(face.across) / np.linalg.norm(face.across)
    up = np.cross(normal, across)
    corners = [np.asarray(face.center_m) + a * across + b * up for a, b in face.corners_m]
    found = [tuple(corner.tolist()) for corner in (*corners, corners[0])]
    return tuple((x, y, z) for x, y, z in found)
