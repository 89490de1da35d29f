"""What is found about seeing a face, as records."""

from typing import Literal

from routing.paths.answers.results import Result
from structures.findings import Finding
from structures.frames import Vector

__all__ = ["FaceSight", "Vantage"]


class Vantage(Result):
    """A grip from which some of a face is seen."""

    grip: str
    seconds: float
    """Least time from the start, tether transfers left out [s]."""
    fraction: float
    """Share of the face's samples that is seen."""
    camera_m: Vector
    nearest_m: float
    """Range to the nearest and the farthest sample that is seen [m]."""
    farthest_m: float
    slant_deg: float
    """Worst incidence among the samples that are seen [deg]."""


class FaceSight(Result):
    """From where a face can be seen."""

    face: str
    name: str = ""
    camera: str
    start: str
    verdict: Literal["seen from one place", "seen from several", "partly seen", "not seen"]
    samples: int
    seen: int
    """How many samples are seen from any grip that a tethered person gets to."""
    grips: int
    """How many grips that a tethered person gets to see some of it."""
    whole: tuple[Vantage, ...] = ()
    """Grips that see all of it, soonest first."""
    best: tuple[Vantage, ...] = ()
    """Grips that see most of it, the most first, then the soonest."""
    cover: tuple[Vantage, ...] = ()
    """The fewest grips that together see all that can be seen, then the least seconds in all;
    soonest first."""
    samples_m: tuple[Vector, ...] = ()
    """Where the samples are."""
    unseen: tuple[int, ...] = ()
    """Which of them are seen from nowhere."""
    reason: str | None = None
    """Why not all of it is seen."""
    findings: tuple[Finding, ...] = ()

    @property
    def safe(self) -> bool:
        """Whether all of it can be seen from places that safe tethered ways lead to."""
        blocked = any(finding.severity == "blocks" for finding in self.findings)
        return self.verdict in {"seen from one place", "seen from several"} and not blocked
