"""Whether the equipment tethers of a tie span from a handrail to the payload, held and seated."""

from collections.abc import Iterator
from functools import cache

from routing.graph.situation import Situation
from routing.outings.clock.schedule import Schedule
from routing.outings.plan_file.records import Act
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground
from routing.worksites.ties.chains import find_chain
from routing.worksites.ties.records import AttachChain, WorksiteChain

__all__ = ["check_ties"]


def check_ties(schedule: Schedule, ground: Ground) -> Iterator[OutingFinding]:
    """Yield ties by an attach point that no chain reaches, or not with so few tethers.

    Chains are those of `routing.worksites`, of the structure's kit of tethers. A
    tie that names no attach point is not looked at, and a note says so.
    """
    situation = Situation(limits=ground.limits, closed=ground.closed)
    at = {one.id: site.id for site in ground.structure.worksites for one in site.attach}

    @cache
    def chains(worksite: str) -> WorksiteChain:
        return find_chain(ground.structure, worksite, situation)

    for act in schedule.plan.acts:
        if act.does != "tie":
            continue
        if act.attach is None:
            yield _not_looked_at(act, schedule.start_s(act.id))
            continue
        chain = next(one for one in chains(at[act.attach]).attach if one.attach == act.attach)
        fault = _fault(chain, len(act.using))
        if fault is None:
            continue
        code, message, remedy = fault
        at_s = schedule.start_s(act.id)
        yield OutingFinding(
            code=code,
            severity="blocks",
            act=act.id,
            person=act.who[0],
            at_s=at_s,
            elements=(act.item or "", act.attach),
            message=f"{message} (at {clock(at_s)})",
            remedy=remedy,
            value=float(len(act.using)),
            limit=None if chain.tethers is None else float(chain.tethers),
            unit="1",
        )


def _not_looked_at(act: Act, at_s: float) -> OutingFinding:
    return OutingFinding(
        code="not-checked",
        severity="notes",
        act=act.id,
        person=act.who[0],
        at_s=at_s,
        elements=(act.item or "",),
        message=f"not checked for {act.id}: whether its tethers are long enough to tie "
        f"{act.item}, since no attach point is named (from {clock(at_s)})",
        remedy="name an attach point of a worksite there: attach",
    )


def _fault(chain: AttachChain, tethers: int) -> tuple[str, str, str] | None:
    if chain.verdict != "ok" or chain.tethers is None:
        return (
            "tie-does-not-hold",
            (
                f"no chain of equipment tethers is known to tie {chain.attach}: "
                f"{chain.reason or chain.verdict}"
            ),
            "see `gripway tie` for this worksite",
        )
    if tethers < chain.tethers:
        return (
            "too-few-tethers",
            (
                f"{chain.attach} takes {chain.tethers} equipment tethers in series from "
                f"{chain.handrail}, and {tethers} are used"
            ),
            "use more of them",
        )
    return None
