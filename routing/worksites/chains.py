"""Equipment-tether chains: the fewest in series from a handrail to a payload."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from routing.graph.build import complete
from routing.graph.situation import Situation
from routing.graph.surroundings import Surroundings, survey
from routing.limits import Limits
from routing.paths.results import Result
from routing.worksites.kit import DEFAULT_TETHER, EquipmentTether, weakest_rating_n
from routing.worksites.lines import LinesTo
from routing.worksites.tie_search import TieSearch, margin_m
from routing.worksites.ties import Tie, allowed_ties, near_ties, tie_elements
from routing.worksites.why_no_chain import why_no_place
from structures.elements import AttachPoint, Worksite
from structures.model import Structure

__all__ = ["VERDICTS", "AttachChain", "Verdict", "WorksiteChain", "find_chain", "find_chains"]

Verdict: TypeAlias = Literal["ok", "no chain", "unknown", "nothing to tie"]
"""*unknown*: something that decides is not known, which is never taken for ok."""

VERDICTS: Final[tuple[Verdict, ...]] = ("unknown", "no chain", "ok", "nothing to tie")
"""From worst to best."""


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


class WorksiteChain(Result):
    """The chains of one worksite; the worst attach point decides."""

    worksite: str
    verdict: Verdict
    attach: tuple[AttachChain, ...]

    @property
    def deciding(self) -> AttachChain | None:
        """The worst attach point: by verdict, most tethers, least margin, id."""
        return min(self.attach, key=_rank, default=None)


def _rank(chain: AttachChain) -> tuple[int, int, float, str]:
    return (
        VERDICTS.index(chain.verdict),
        -(chain.tethers or 0),
        0.0 if chain.margin_m is None else chain.margin_m,
        chain.attach,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Job:
    """What all worksites of one structure share."""

    structure: Structure
    limits: Limits
    around: Surroundings
    tether: EquipmentTether
    ties: tuple[Tie, ...]

    @classmethod
    def of(
        cls,
        structure: Structure,
        situation: Situation,
        tether: EquipmentTether,
        reached: Collection[str] | None,
    ) -> "_Job":
        situation = complete(structure, situation)
        around = survey(structure, situation)
        ties = tie_elements(structure, situation.closed, reached)
        return cls(structure, situation.limits, around, tether, ties)


def find_chains(
    structure: Structure,
    situation: Situation,
    *,
    tether: EquipmentTether = DEFAULT_TETHER,
    reached: Collection[str] | None = None,
) -> tuple[WorksiteChain, ...]:
    """Find the chains of all worksites, in id order.

    For each attach point: the fewest tethers that, tied in series at one place
    of an allowed handrail, span both the line to the held position and the one
    to the seated position, straight or round the solids between. Then the best
    margin, then the lower handrail id.

    Parameters
    ----------
    structure
        With references checked.
    situation
        Gives limits, conditions and closures.
    tether
        What the chain is made of.
    reached
        Ids of the handrails and handholds that hands can get to; ``None``
        takes all that are open.

    Notes
    -----
    Allowed are the worksite's ``tie_handrails``, or all if it names none, as
    far as they are open, take a tether hook and can be reached. A chain of n
    spans from n times cinched to n times extended, and is rated by its weakest
    link. Its line keeps off zones that apply to tethers.

    Never optimistic: bounds of `structures.solids.taut` count on their safe
    side, and only measured places count. The margin may be up to
    `routing.worksites.tie_search.TIE_WITHIN_M` under the best there is.
    """
    job = _Job.of(structure, situation, tether, reached)
    worksites = sorted(structure.worksites, key=lambda worksite: worksite.id)
    return tuple(_chain_of(job, worksite) for worksite in worksites)


def find_chain(
    structure: Structure,
    worksite_id: str,
    situation: Situation,
    *,
    tether: EquipmentTether = DEFAULT_TETHER,
    reached: Collection[str] | None = None,
) -> WorksiteChain:
    """Find the chains of one worksite, as `find_chains` does.

    Raises
    ------
    UnknownIdError
        No worksite has this id.
    """
    worksite = structure.find(worksite_id, (Worksite,))
    if not isinstance(worksite, Worksite):
        raise TypeError(f"{worksite_id} is no worksite")
    return _chain_of(_Job.of(structure, situation, tether, reached), worksite)


def _chain_of(job: _Job, worksite: Worksite) -> WorksiteChain:
    chains = tuple(
        _attach_chain(job, worksite, attach)
        for attach in sorted(worksite.attach, key=lambda attach: attach.id)
    )
    worst = min(chains, key=_rank, default=None)
    return WorksiteChain(
        worksite=worksite.id,
        verdict="nothing to tie" if worst is None else worst.verdict,
        attach=chains,
    )


def _attach_chain(job: _Job, worksite: Worksite, attach: AttachPoint) -> AttachChain:
    limits, tether = job.limits, job.tether
    unfit = _unfit(tether, limits)
    if unfit is not None:
        return AttachChain(attach=attach.id, verdict=unfit[0], reason=unfit[1])
    farthest_m = limits.max_chain * tether.extended_m
    solids, zones = job.around.solids, job.around.line
    held = LinesTo.to(attach.held_m, solids, zones, farthest_m)
    seated = LinesTo.to(attach.seated_m, solids, zones, farthest_m)
    for word, to in (("held", held), ("seated", seated)):
        solid = to.inside()
        if solid is not None:
            return AttachChain(
                attach=attach.id,
                verdict="unknown",
                reason=f"the {word} position is inside solid {solid}, so no line can be measured",
            )
    open_, barred = allowed_ties(job.ties, worksite)
    if not open_:
        return AttachChain(
            attach=attach.id, verdict="no chain", reason=f"no handrail is allowed: {barred}"
        )
    ties = near_ties(open_, held, seated)
    search = TieSearch([tie.line for tie in ties], held, seated, tether)
    return _search(attach, [tie.id for tie in ties], search, limits.max_chain)


def _unfit(tether: EquipmentTether, limits: Limits) -> tuple[Verdict, str] | None:
    """Return why the tether may not be used at all, if so."""
    rating_n = weakest_rating_n([tether])
    needed = f"{limits.chain_rating_n:g} N are needed"
    if rating_n is None:
        return "unknown", f"{tether.name} has no rating, {needed}"
    if rating_n < limits.chain_rating_n:
        return "no chain", f"{tether.name} is rated {rating_n:g} N, {needed}"
    return None


def _search(attach: AttachPoint, names: list[str], search: TieSearch, most: int) -> AttachChain:
    tether = search.tether
    for count in range(1, most + 1):
        place = search.best(count)
        if place is not None:
            return AttachChain(
                attach=attach.id,
                verdict="ok",
                handrail=names[place.rail],
                along_m=place.along_m,
                tethers=count,
                held_m=place.held.longest_m,
                seated_m=place.seated.longest_m,
                cinched_m=count * tether.cinched_m,
                extended_m=count * tether.extended_m,
                margin_m=max(margin_m(place, tether, count), 0.0),
            )
    reason, handrail = why_no_place(search, names, most)
    return AttachChain(attach=attach.id, verdict="no chain", reason=reason, handrail=handrail)
