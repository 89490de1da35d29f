"""What a suited person can be and do: where numbers in documents stop being believable.

A document is refused where a number fits no person at all; it is most often a
length unit mixed up. Records made in Python may have any number: studies look
for the reach at which a route falls off, whoever has it.
"""

from dataclasses import replace
from typing import Final

from pydantic_core import PydanticCustomError

from structures.frozen import frozen
from structures.units import FOOT_M, INCH_M

__all__ = ["BODY_RADIUS", "HAND_REACH", "HOOK_REACH", "TRANSLATION_RATE", "Span"]

_SLACK: Final = 1e-9
"""Rounding of a length unit makes no number of just the limit wrong."""


@frozen(kw_only=True)
class Span:
    """What a number of a person may be, in SI units, and where it is doubtful."""

    what: str
    unit: str
    least: float
    most: float
    why: str
    """What the two ends are held against, with where that is from."""
    few: float
    many: float
    doubt: str
    """What the doubt is held against, with where that is from."""

    def refuse(self, value: float) -> None:
        """Raise the validation error of a value that no person has."""
        if self.least * (1 - _SLACK) <= value <= self.most * (1 + _SLACK):
            return
        raise PydanticCustomError(
            "beyond_people",
            "{what} of {value} {unit} fits no person; give {least} to {most} {unit}",
            {
                "what": self.what,
                "value": f"{value:.4g}",
                "unit": self.unit,
                "least": f"{self.least:g}",
                "most": f"{self.most:g}",
                "why": self.why,
            },
        )

    def is_doubtful(self, value: float) -> bool:
        """Tell whether a value is believable only with a reason."""
        return not self.few * (1 - _SLACK) <= value <= self.many * (1 + _SLACK)


HAND_REACH: Final = Span(
    what="a reach",
    unit="m",
    least=0.05,
    most=2.0,
    why=(
        "the arm span of a tall man is about his stature, 1.90 m (95th percentile, "
        "NASA-STD-3000 Vol I Rev B fig 3.3.1.3-1, from memory)"
    ),
    few=0.3,
    many=36 * INCH_M,
    doubt=(
        "handholds are at most 24 in apart (SSP 50005), in the past 36 in (NASA-STD-3000 Vol I "
        "Rev B 14.5.3), and a long arm reaches 0.882 m forward (95th percentile, fig 3.3.1.3-1), "
        "all from memory"
    ),
)
HOOK_REACH: Final = replace(HAND_REACH, what="a reach to hook a tether", few=0.05)
TRANSLATION_RATE: Final = Span(
    what="a rate",
    unit="m/s",
    least=0.001,
    most=2.0,
    why="a person walks at about 1.4 m/s, and nobody in a suit goes faster hand over hand (own "
    "planning assumption)",
    few=0.05,
    many=FOOT_M,
    doubt=(
        "hand over hand people go 0.5 to 1.0 ft/s (NASA-STD-3000 14.5, from memory), down to a "
        "third of that by own planning assumption"
    ),
)
BODY_RADIUS: Final = Span(
    what="a corridor radius",
    unit="m",
    least=0.1,
    most=2.0,
    why="a suited body is wider than 0.2 m, and a ball of 2 m holds two standing people (own "
    "planning assumption)",
    few=0.325,
    many=1.0,
    doubt=(
        "half the width of one suited person is 0.325 m (Stromgren et al. 2020, NTRS 20200002973, "
        "appendix table, PDF p29), half the height 0.96 m (NASA-STD-3000 Vol I Rev B fig 14.3.2, "
        "from memory)"
    ),
)
