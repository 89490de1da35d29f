"""The equipment-tether chains of a worksite as answers."""

from collections.abc import Iterable
from typing import Final, Literal, TypeAlias

from routing.paths.answers.results import Result

__all__ = [
    "VERDICTS",
    "AttachChain",
    "ChainPart",
    "Position",
    "Verdict",
    "WorksiteChain",
    "deciding",
]

Verdict: TypeAlias = Literal["ok", "no chain", "unknown", "nothing to tie"]
"""*unknown*: something that decides is not known, which is never taken for ok."""

Position: TypeAlias = Literal["held", "seated"]
"""Where the payload is."""

VERDICTS: Final[tuple[Verdict, ...]] = ("unknown", "no chain", "ok", "nothing to tie")
"""From worst to best."""


class ChainPart(Result):
    """How many of one kind of tether a chain has."""

    tether: str
    count: int


class AttachChain(Result):
    """The chain for one attach point, or why there is none."""

    attach: str
    verdict: Verdict
    reason: str | None = None
    handrail: str | None = None
    """The handrail or handhold it is tied to."""
    along_m: float | None = None
    """Where, from the first point of the handrail."""
    tethers: int | None = None
    chain: tuple[ChainPart, ...] = ()
    """What it is made of, in id order; tethers in series may be hooked in any order, with a
    large hook at the handrail."""
    rating_n: float | None = None
    """Rated load of its weakest link."""
    held_m: float | None = None
    """Length it must have at most while the payload is held."""
    seated_m: float | None = None
    """The same once it is cinched home."""
    cinched_m: float | None = None
    """The shortest that the chain can be."""
    extended_m: float | None = None
    """The longest that it can be."""
    margin_m: float | None = None
    """Distance of both lengths from the nearer end of that span."""
    margin_at_most_m: float | None = None
    """No place of any allowed handrail has more margin with as many tethers. Where the chain
    had to leave tethers to other attach points, with these tethers."""


class WorksiteChain(Result):
    """The chains of one worksite, tied at the same time; the worst attach point decides."""

    worksite: str
    verdict: Verdict
    attach: tuple[AttachChain, ...]
    """Where the kit does not do for all at once, what each could have if it were alone."""
    reason: str | None = None
    """Why the kit does not do for all at once, if each alone can be tied."""
    drifts: tuple[Position, ...] = ()
    """Where all lines of a payload that is tied pull to one side, so that it may drift there."""

    @property
    def deciding(self) -> AttachChain | None:
        """The worst attach point: by verdict, most tethers, least margin, id."""
        return deciding(self.attach)


def deciding(chains: Iterable[AttachChain]) -> AttachChain | None:
    """Return the worst of some chains, as `WorksiteChain.deciding` does; ``None`` of none."""
    return min(chains, key=_rank, default=None)


def _rank(chain: AttachChain) -> tuple[int, int, float, str]:
    return (
        VERDICTS.index(chain.verdict),
        -(chain.tethers or 0),
        0.0 if chain.margin_m is None else chain.margin_m,
        chain.attach,
    )
