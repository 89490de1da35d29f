"""The reels of `--reel LENGTH`: a length with its unit, one option for each reel."""

import re
from collections.abc import Sequence
from typing import Final

from routing.limits import Limits
from routing.paths.answers.results import Protocol
from routing.paths.tethers.kit import Kit, default_kit
from structures.errors import Problem
from structures.units import METRES_PER_UNIT

__all__ = ["MOST_REELS", "kit_name", "read_kit", "read_length_m"]

_LENGTH: Final = r"\s*([0-9]+(?:\.[0-9]*)?|\.[0-9]+)\s*(m|ft|in)\s*"
_LONGEST_M: Final = 1000.0
"""No reel is longer [m]: a bigger number is a unit mixed up."""
MOST_REELS: Final = 12
"""So many reels are more than anybody takes along."""


def read_kit(
    reels: Sequence[str] | None,
    protocol: Protocol | None,
    limits: Limits,
    problems: list[Problem],
) -> Kit | None:
    """Return the kit that the options describe: None where reels are not used.

    Parameters
    ----------
    reels
        Lengths as typed; without any it is two reels of the limits' length.
    protocol
        The protocol asked for.
    limits
        The limits in force.
    problems
        Where what is wrong is added.
    """
    if reels and protocol != "reel":
        problems.append(
            _problem("reels are not used by this protocol", "add --protocol reel, or leave it out")
        )
        return None
    if protocol != "reel":
        return None
    if not reels:
        return default_kit(limits)
    if len(reels) > MOST_REELS:
        problems.append(
            _problem(f"{len(reels)} reels are given", f"the most allowed are {MOST_REELS}")
        )
        return None
    lengths = [read_length_m(text, "option --reel", problems) for text in reels]
    known = tuple(length for length in lengths if length is not None)
    return Kit(reels_m=known) if len(known) == len(lengths) else None


def kit_name(reels_m: Sequence[float]) -> str:
    """Return a short name of a kit, the longest reel first.

    Examples
    --------
    >>> kit_name((16.764, 25.908))
    '25.908m+16.764m'
    """
    return "+".join(f"{length_m:g}m" for length_m in sorted(reels_m, reverse=True))


def read_length_m(
    text: str, place: str, problems: list[Problem], *, what: str = "a reel"
) -> float | None:
    """Return a length typed with its unit [m]; None, and a problem, if it is none."""
    found = re.fullmatch(_LENGTH, text, re.ASCII)
    if found is None:
        problems.append(
            Problem(
                place=place,
                message=f"{text!r} is not a length with its unit",
                remedy="give a number and m, ft or in, for instance 85ft or 25.9m",
            )
        )
        return None
    length_m = float(found[1]) * next(
        factor for unit, factor in METRES_PER_UNIT.items() if unit == found[2]
    )
    if not 0 < length_m <= _LONGEST_M:
        problems.append(
            Problem(
                place=place,
                message=f"{what} of {text!r} is {length_m:g} m long",
                remedy=f"it must be above 0 and at most {_LONGEST_M:g} m; check the unit",
            )
        )
        return None
    return length_m


def _problem(message: str, remedy: str) -> Problem:
    return Problem(place="option --reel", message=message, remedy=remedy)
