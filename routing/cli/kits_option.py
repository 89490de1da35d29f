"""The kits of `--kit KIT`: reels joined by +, or leapfrog; one option for each kit."""

from collections.abc import Sequence
from typing import Final

from routing.cli.kit_option import MOST_REELS, read_length_m
from routing.paths.answers.results import Protocol
from routing.paths.tethers.kit import Kit, Outfitting
from structures.errors import Problem

__all__ = ["read_kits"]

_PLACE: Final = "option --kit"
_MOST: Final = 12
"""So many kits still fit side by side."""


def read_kits(
    kits: Sequence[str],
    reels: Sequence[str] | None,
    protocol: Protocol | None,
    problems: list[Problem],
) -> tuple[Outfitting, ...]:
    """Return the kits that the options describe, in their order.

    Parameters
    ----------
    kits
        As typed: ``leapfrog``, or lengths joined by ``+``.
    reels, protocol
        What the options that a kit stands in the place of say.
    problems
        Where what is wrong is added.
    """
    if reels:
        problems.append(_problem("--reel is given too", "say the reels in --kit: --kit 85ft+55ft"))
    if protocol == "reel":
        problems.append(
            _problem("--protocol is given too", "a kit says it: reels joined by +, or leapfrog")
        )
    if len(kits) > _MOST:
        problems.append(_problem(f"{len(kits)} kits are given", f"the most allowed are {_MOST}"))
    read = [_kit(text, problems) for text in kits]
    found = [one for one in read if one is not None]
    seen: set[tuple[float, ...]] = set()
    for one in found:
        key = tuple(sorted(one.reels_m))
        if key in seen:
            problems.append(_problem(f"kit {one.name!r} is given twice", "leave one of them out"))
        seen.add(key)
    return tuple(found)


def _kit(text: str, problems: list[Problem]) -> Outfitting | None:
    name = "".join(text.split())
    if name == "leapfrog":
        return Outfitting(name=name, protocol="leapfrog")
    parts = name.split("+")
    if len(parts) > MOST_REELS:
        problems.append(
            _problem(f"{len(parts)} reels are in one kit", f"the most allowed are {MOST_REELS}")
        )
        return None
    lengths = [read_length_m(part, _PLACE, problems) for part in parts]
    known = tuple(length for length in lengths if length is not None)
    if len(known) < len(lengths):
        return None
    return Outfitting(name=name, protocol="reel", kit=Kit(reels_m=known))


def _problem(message: str, remedy: str) -> Problem:
    return Problem(place=_PLACE, message=message, remedy=remedy)
