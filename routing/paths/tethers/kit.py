"""The safety tethers a person takes along for the reel protocol."""

from collections.abc import Sequence

from routing.limits import Limits
from routing.paths.answers.results import Protocol
from routing.paths.tethers.stack import Tether
from structures.frozen import frozen
from structures.units import FOOT_M

__all__ = ["Kit", "Outfitting", "default_kit", "kit_text"]


@frozen(kw_only=True)
class Kit:
    """How many reels of which length a person has, the one hooked at the start included.

    Parameters
    ----------
    reels_m
        Length of each reel, in any order; equal lengths are equal reels [m].

    Raises
    ------
    ValueError
        There is no reel, or a length that is no length.

    Examples
    --------
    >>> Kit(reels_m=(25.908, 16.764, 25.908)).types
    ((Tether(name='25.908 m', length_m=25.908), 2), (Tether(name='16.764 m', length_m=16.764), 1))
    """

    reels_m: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.reels_m:
            raise ValueError("a kit without a reel holds nobody; give at least one length")
        for length_m in self.reels_m:
            if not 0 < length_m < float("inf"):
                raise ValueError(f"a reel of {length_m} m; a length is finite and above 0")

    @property
    def types(self) -> tuple[tuple[Tether, int], ...]:
        """Reels of one length and how many there are of them, the longest first."""
        lengths = sorted(set(self.reels_m), reverse=True)
        return tuple(
            (Tether(name=f"{length_m:g} m", length_m=length_m), self.reels_m.count(length_m))
            for length_m in lengths
        )


@frozen(kw_only=True)
class Outfitting:
    """A way of staying tethered that is asked about: a protocol, and for reels a kit."""

    name: str
    """What answers call it."""
    protocol: Protocol
    kit: Kit | None = None

    @property
    def reels_m(self) -> tuple[float, ...]:
        """Length of each reel, none in leapfrog [m]."""
        return () if self.kit is None else self.kit.reels_m


def default_kit(limits: Limits, spare: int = 1) -> Kit:
    """Return one reel of the limits' length to start on, and spare ones of the same length."""
    return Kit(reels_m=(limits.reel_length_m,) * (1 + spare))


def kit_text(reels_m: Sequence[float]) -> str:
    """Return the reels of a kit as text, the longest first.

    Examples
    --------
    >>> kit_text((16.764, 25.908, 25.908))
    '2 reels of 25.91 m (85.0 ft), 1 reel of 16.76 m (55.0 ft)'
    """
    parts = []
    for length_m in sorted(set(reels_m), reverse=True):
        count = list(reels_m).count(length_m)
        parts.append(
            f"{count} reel{'' if count == 1 else 's'} of {length_m:.2f} m "
            f"({length_m / FOOT_M:.1f} ft)"
        )
    return ", ".join(parts)
