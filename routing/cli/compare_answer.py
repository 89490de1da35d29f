"""The JSON answer of `gripway compare`."""

from typing import Literal

from routing.cli.answers import AnswerHead
from routing.paths.answers.results import InputDigest, Protocol, StructureRef
from routing.studies.revision_changes import AnswerChange, StillNotSafe
from routing.studies.revision_closures import HangsOn
from structures.comparison import Comparison

__all__ = ["CompareAnswer"]


class CompareAnswer(AnswerHead):
    """What the new revision (``structure``) changes from the old one."""

    answer: Literal["compare"] = "compare"
    old_structure: StructureRef
    old_inputs: tuple[InputDigest, ...]
    protocols: tuple[Protocol, ...]
    reels_m: tuple[float, ...] | None = None
    """Length of each reel of the kit, where reels were asked about [m]."""
    safe: bool
    """Whether no answer was lost or turned unsafe, no new one is not safe, and no worksite hangs
    on anything now that it did not hang on (as far as closures were asked).

    What was not safe and is not safe now is in ``still_not_safe``."""
    elements: Comparison
    compared: int
    """Answers that were compared."""
    answers: tuple[AnswerChange, ...]
    """Those that changed, the worst first."""
    still_not_safe: tuple[StillNotSafe, ...]
    """Those that are not safe in either revision."""
    hanging: tuple[HangsOn, ...] | None = None
    """What worksites hang on in one revision only; left out where closures were not asked."""
