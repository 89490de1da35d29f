"""Kits side by side: which kit serves which worksites, and the least kit that serves all."""

import math
from collections.abc import Mapping, Sequence

from routing.paths.answers.results import Protocol, Result
from routing.paths.tethers.kit import Outfitting
from routing.worksites.safety_chains import SafetyChain

__all__ = ["KitServes", "KitsCompared", "compare_kits"]


class KitServes(Result):
    """What one kit does for all worksites."""

    kit: str
    protocol: Protocol
    reels_m: tuple[float, ...] = ()
    serves: int
    """Worksites with a safe way."""
    of: int
    not_served: tuple[str, ...] = ()
    """Ids of the worksites without a safe way."""
    seconds: float
    """Sum over the worksites that it serves [s]."""
    transfers: int
    margin_m: float | None = None
    """The least line left above the reserve on any of these ways [m]."""
    margin_at: str | None = None
    """The worksite of that way."""

    @property
    def all_served(self) -> bool:
        """Whether every worksite has a safe way."""
        return self.serves == self.of


class KitsCompared(Result):
    """Kits side by side, in the order they were asked about."""

    kits: tuple[KitServes, ...]
    least: str | None = None
    """Of the kits that serve all worksites the one with the fewest reels, then the least
    line, then the least seconds."""
    fastest: str | None = None
    """Of the kits that serve all worksites the one with the least seconds over all."""
    used: str
    """The kit to which the rows of the reach table belong: the fastest of those that serve most."""


def compare_kits(
    outfittings: Sequence[Outfitting], chains: Mapping[str, Sequence[SafetyChain]]
) -> KitsCompared:
    """Compare kits by the worksites they serve safely.

    Parameters
    ----------
    outfittings
        At least one; each name once.
    chains
        The chain to every worksite, by the name of the kit.
    """
    kits = tuple(_serves(one, chains[one.name]) for one in outfittings)
    full = [one for one in kits if one.all_served]
    most = max(one.serves for one in kits)
    return KitsCompared(
        kits=kits,
        least=min(full, key=_size).kit if full else None,
        fastest=min(full, key=_pace).kit if full else None,
        used=min((one for one in kits if one.serves == most), key=_pace).kit,
    )


def _size(one: KitServes) -> tuple[int, float, float]:
    return (len(one.reels_m), math.fsum(one.reels_m), one.seconds)


def _pace(one: KitServes) -> tuple[float, tuple[int, float, float]]:
    return (one.seconds, _size(one))


def _serves(outfitting: Outfitting, chains: Sequence[SafetyChain]) -> KitServes:
    safe = [chain for chain in chains if chain.way == "safe"]
    tightest = min(
        (chain for chain in safe if chain.margin_m is not None),
        key=lambda chain: (chain.margin_m, chain.worksite),
        default=None,
    )
    return KitServes(
        kit=outfitting.name,
        protocol=outfitting.protocol,
        reels_m=outfitting.reels_m,
        serves=len(safe),
        of=len(chains),
        not_served=tuple(sorted(chain.worksite for chain in chains if chain.way != "safe")),
        seconds=math.fsum(chain.seconds or 0.0 for chain in safe),
        transfers=sum(chain.transfers or 0 for chain in safe),
        margin_m=None if tightest is None else tightest.margin_m,
        margin_at=None if tightest is None else tightest.worksite,
    )
