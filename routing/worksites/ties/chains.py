"""Equipment-tether chains: the fewest in series from a handrail to a payload.

All attach points of a worksite are tied at the same time, out of one kit.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TypeAlias

import numpy as np

from routing.graph.build import complete
from routing.graph.situation import Situation
from routing.graph.surroundings import Surroundings, survey
from routing.limits import Limits
from routing.worksites.in_step import in_step
from routing.worksites.ties.attach_search import AttachSearch, Tied, pull
from routing.worksites.ties.kit import Series, TetherKit, kit_of, weakest_rating_n
from routing.worksites.ties.lines import LinesTo
from routing.worksites.ties.places import Tie, allowed_ties, near_ties, tie_elements
from routing.worksites.ties.rails import Rails
from routing.worksites.ties.records import (
    AttachChain,
    ChainPart,
    Position,
    Verdict,
    WorksiteChain,
    deciding,
)
from routing.worksites.ties.search import TieSearch
from routing.worksites.ties.sights import Seeking, look
from routing.worksites.ties.stability import one_side
from routing.worksites.ties.together import Choice, choose_together, shortage_words
from structures.elements import AttachPoint, Worksite
from structures.model import Structure

__all__ = ["Job", "chain_parts", "find_chain", "find_chains", "tie_worksite"]


@dataclass(frozen=True, slots=True, eq=False)
class Job:
    """What all worksites of one structure share."""

    structure: Structure
    limits: Limits
    around: Surroundings
    kit: TetherKit
    ties: tuple[Tie, ...]
    rails: Rails
    """Their lines."""
    number: Mapping[str, int]
    """Which of them has an id."""

    @classmethod
    def of(
        cls,
        structure: Structure,
        situation: Situation,
        kit: TetherKit | None,
        reached: Collection[str] | None,
    ) -> "Job":
        """Gather it; parameters as in `find_chains`."""
        situation = complete(structure, situation)
        around = survey(structure, situation)
        ties = tie_elements(structure, situation.closed, reached)
        return cls(
            structure,
            situation.limits,
            around,
            kit or kit_of(structure),
            ties,
            Rails([tie.line for tie in ties]),
            {tie.id: number for number, tie in enumerate(ties)},
        )


def find_chains(
    structure: Structure,
    situation: Situation,
    *,
    kit: TetherKit | None = None,
    reached: Collection[str] | None = None,
) -> tuple[WorksiteChain, ...]:
    """Find the chains of all worksites, in id order.

    For each attach point: the fewest tethers that, tied in series at one place
    of an allowed handrail, span both the line to the held position and the one
    to the seated position, straight or round the solids between. Then the best
    margin, then the lower handrail id. Where the kit is limited no tether is
    used at two attach points of a worksite: then the fewest tethers in all,
    then the greatest least margin.

    Parameters
    ----------
    structure
        With references checked.
    situation
        Gives limits, conditions and closures.
    kit
        What chains are made of; by default the structure's ``equipment_tethers``,
        or as many `routing.worksites.ties.kit.DEFAULT_TETHER` as needed if it lists none.
    reached
        Ids of the handrails and handholds that hands can get to; ``None``
        takes all that are open.

    Notes
    -----
    Allowed are the worksite's ``tie_handrails``, or all if it names none, as
    far as they are open, take a tether hook and can be reached. A chain spans
    from the sum of cinched to the sum of extended lengths, and is rated by its
    weakest link. Its line keeps off zones that apply to tethers.

    Never optimistic: bounds of `structures.solids.taut` count on their safe
    side, and only measured places count. The margin may be up to
    `routing.worksites.ties.best_first.TIE_WITHIN_M` under the best there is, more
    only where ``margin_at_most_m`` says so.
    """
    job = Job.of(structure, situation, kit, reached)
    worksites = sorted(structure.worksites, key=lambda worksite: worksite.id)
    return tuple(chain for chain, _ in _tie_worksites(job, worksites))


def find_chain(
    structure: Structure,
    worksite_id: str,
    situation: Situation,
    *,
    kit: TetherKit | None = None,
    reached: Collection[str] | None = None,
) -> WorksiteChain:
    """Find the chains of one worksite, as `find_chains` does.

    Raises
    ------
    UnknownIdError
        No worksite has this id.
    """
    worksite = structure.find(worksite_id, (Worksite,))
    return tie_worksite(Job.of(structure, situation, kit, reached), worksite)[0]


def tie_worksite(
    job: Job, worksite: Worksite
) -> tuple[WorksiteChain, dict[str, tuple[AttachSearch, Tied]]]:
    """Find the chains of one worksite, and what was searched, by attach point that is tied."""
    return _tie_worksites(job, [worksite])[0]


def _tie_worksites(
    job: Job, worksites: Sequence[Worksite]
) -> list[tuple[WorksiteChain, dict[str, "_Found"]]]:
    """Find the chains of some worksites; all attach points are searched in step."""
    points = [(worksite, attach) for worksite in worksites for attach in worksite.attach]
    solids = job.around.solids.tables
    found = in_step([_alone(job, *point) for point in points], partial(look, solids))
    alone: dict[int, dict[str, tuple[AttachChain, _Found | None]]] = {}
    for (worksite, attach), one in zip(points, found, strict=True):
        alone.setdefault(id(worksite), {})[attach.id] = one
    return [_joined(worksite, alone.get(id(worksite), {})) for worksite in worksites]


def _joined(
    worksite: Worksite, alone: Mapping[str, tuple[AttachChain, "_Found | None"]]
) -> tuple[WorksiteChain, dict[str, "_Found"]]:
    """Put together what was found for each attach point as if it had the kit to itself."""
    in_order = sorted(alone.items())
    chains = tuple(chain for _, (chain, _) in in_order)
    tied = {one: found for one, (_, found) in in_order if found is not None}
    reason = None
    if len(tied) == len(chains) and len(chains) > 1:
        chains, tied, reason = _together(chains, tied)
    worst = deciding(chains)
    verdict: Verdict = "nothing to tie" if worst is None else worst.verdict
    if reason is not None:
        verdict = "no chain"
    found = WorksiteChain(
        worksite=worksite.id,
        verdict=verdict,
        attach=chains,
        reason=reason,
        drifts=_drifts(list(tied.values())) if verdict == "ok" else (),
    )
    return found, tied


def _drifts(tied: Sequence["_Found"]) -> tuple[Position, ...]:
    """Tell where all lines pull to one side, as a single line always does."""
    positions: tuple[Position, ...] = ("held", "seated")
    if len(tied) == 1:
        return positions
    ways = [search.ways(one) for search, one in tied]
    return tuple(
        position
        for i, position in enumerate(positions)
        if one_side([pull(way[i]) for way in ways]) is not None
    )


_Found: TypeAlias = tuple[AttachSearch, Tied]


def _together(
    chains: tuple[AttachChain, ...], tied: dict[str, _Found]
) -> tuple[tuple[AttachChain, ...], dict[str, _Found], str | None]:
    """Give each attach point a chain of its own out of the kit, or say why that cannot be."""
    searches = {attach: search for attach, (search, _) in tied.items()}
    kit = next(iter(searches.values())).kit
    used = [found.series.used for _, found in tied.values()]
    totals = [sum(some) for some in zip(*used, strict=True)]
    if all(n is None or total <= n for n, total in zip(kit.counts, totals, strict=True)):
        return chains, tied, None
    every = [search.every() for search in searches.values()]
    choices = [[Choice(one.series.used, one.margin_m) for one in some] for some in every]
    picked = choose_together(choices, kit.counts)
    if picked is None:
        return chains, tied, shortage_words(kit, choices)
    together = {
        attach: (search, some[k])
        for (attach, search), some, k in zip(searches.items(), every, picked, strict=True)
    }
    return tuple(_chain(one, *found) for one, found in together.items()), together, None


def _alone(
    job: Job, worksite: Worksite, attach: AttachPoint
) -> Seeking[tuple[AttachChain, _Found | None]]:
    """Find the smallest chain of one attach point that has the kit to itself."""
    limits = job.limits
    kit = job.kit.fit_for(limits.chain_rating_n)
    if kit is None:
        return _unfit(attach, job.kit, limits), None
    failed, search = _search_of(job, worksite, attach, kit)
    if search is None:
        return failed, None
    found = yield from search.smallest()
    if found is not None:
        return _chain(attach.id, search, found), (search, found)
    reason, handrail = search.why_not()
    verdict: Verdict = "no chain"
    more = job.kit.fit_for(limits.chain_rating_n, unknown=True)
    if more is not None and more != kit:
        search = AttachSearch(search.names, search.search, more, search.most)
        found = yield from search.smallest()
        if found is not None:
            doubtful = [one.id for one in more.links(found.series.used) if one.rating_n is None]
            verdict = "unknown"
            reason = (
                f"{found.series.words} would span it, but the rating of "
                f"{', '.join(dict.fromkeys(doubtful))} is not known"
            )
    return AttachChain(attach=attach.id, verdict=verdict, reason=reason, handrail=handrail), None


def _search_of(
    job: Job, worksite: Worksite, attach: AttachPoint, kit: TetherKit
) -> tuple[AttachChain, AttachSearch | None]:
    """Return what can be searched, or why nothing can."""
    most = job.limits.max_chain
    farthest_m = most * max(tether.extended_m for tether in job.kit.tethers)
    solids, zones = job.around.solids, job.around.line
    held = LinesTo.to(attach.held_m, solids, zones, farthest_m)
    seated = LinesTo.to(attach.seated_m, solids, zones, farthest_m)
    for word, to in (("held", held), ("seated", seated)):
        solid = to.inside()
        if solid is not None:
            why = f"the {word} position is inside solid {solid}, so no line can be measured"
            return AttachChain(attach=attach.id, verdict="unknown", reason=why), None
    for word, to in (("held", held), ("seated", seated)):
        zone = to.in_zone()
        if zone is not None:
            why = f"the {word} position is in zone {zone}, which keeps tethers out"
            return AttachChain(attach=attach.id, verdict="no chain", reason=why), None
    open_, barred = allowed_ties(job.ties, worksite)
    if not open_:
        why = f"no handrail is allowed: {barred}"
        return AttachChain(attach=attach.id, verdict="no chain", reason=why), None
    ties = near_ties(open_, held, seated)
    rails = job.rails.take(np.array([job.number[tie.id] for tie in ties]))
    search = TieSearch(rails, held, seated, solids.tables)
    return (
        AttachChain(attach=attach.id, verdict="unknown", reason="not searched"),
        AttachSearch([tie.id for tie in ties], search, kit, most),
    )


def _unfit(attach: AttachPoint, kit: TetherKit, limits: Limits) -> AttachChain:
    """Say why no tether of a kit may be used."""
    needed = f"{limits.chain_rating_n:g} N are needed"
    unknown = [tether for tether in kit.tethers if tether.rating_n is None]
    if unknown:
        why = f"{', '.join(one.name or one.id for one in unknown)} has no rating, {needed}"
        return AttachChain(attach=attach.id, verdict="unknown", reason=why)
    rated = [f"{one.name or one.id} is rated {one.rating_n:g} N" for one in kit.tethers]
    why = f"{', '.join(rated)}, {needed}"
    return AttachChain(attach=attach.id, verdict="no chain", reason=why)


def chain_parts(kit: TetherKit, series: Series) -> tuple[ChainPart, ...]:
    """Return what a series is made of, in the kit's order."""
    return tuple(
        ChainPart(tether=one.id, count=n)
        for one, n in zip(kit.tethers, series.used, strict=True)
        if n
    )


def _chain(attach: str, search: AttachSearch, tied: Tied) -> AttachChain:
    kit, series, place = search.kit, tied.series, tied.place
    return AttachChain(
        attach=attach,
        verdict="ok",
        handrail=tied.handrail,
        along_m=place.along_m,
        tethers=series.tethers,
        chain=chain_parts(kit, series),
        rating_n=weakest_rating_n(kit.links(series.used)),
        held_m=place.held.longest_m,
        seated_m=place.seated.longest_m,
        cinched_m=series.cinched_m,
        extended_m=series.extended_m,
        margin_m=max(tied.margin_m, 0.0),
        margin_at_most_m=max(tied.at_most_m, 0.0),
    )
