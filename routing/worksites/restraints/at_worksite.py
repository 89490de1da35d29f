"""Foot restraints at a worksite: which sockets, settings and bodies put hands and eyes there.

Every setting of every type of restraint is tried in the worksite's socket and
in each other socket that is not certainly too far from the targets.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from routing.graph.build import complete
from routing.graph.situation import Situation
from routing.graph.surroundings import Surroundings, survey
from routing.worksites.restraints.choice import (
    bodies_asked,
    is_rated,
    restraints_of,
    sockets_near,
    why_barred,
)
from routing.worksites.restraints.deciding import able_bodies, deciding_reaches
from routing.worksites.restraints.kicks import check_kicks
from routing.worksites.restraints.poses import has_clock_zero
from routing.worksites.restraints.records import RESTRAINT_VERDICTS, SocketReach, WorksiteRestraint
from routing.worksites.restraints.rows import Tried, reach_of
from routing.worksites.restraints.verdict import judged
from structures.bodies import Body
from structures.built_in import BUILT_IN_BODIES
from structures.elements import Person, Socket, Worksite
from structures.findings import Finding
from structures.model import Structure
from structures.restraints import Restraint

__all__ = [
    "all_restraints",
    "restraint_reach",
    "restraint_serves",
    "restraint_verdict",
    "restraint_verdicts",
]


_MOST: Final = 5
"""So many of the best settings are listed of each body in a socket."""


def restraint_verdict(
    structure: Structure, worksite: Worksite, situation: Situation
) -> WorksiteRestraint:
    """Say in short whether a foot restraint puts the hands where the work is.

    Parameters and result as in `restraint_verdicts`, for one worksite.
    """
    return restraint_verdicts(structure, [worksite], situation)[worksite.id]


def restraint_serves(
    structure: Structure,
    worksite: Worksite,
    situation: Situation,
    restraint: Restraint,
    surroundings: Surroundings,
) -> bool:
    """Tell whether one type of restraint in a worksite's own socket serves all that are asked.

    It is rated for the loads, and for each body some setting works: what `restraint_reach`
    finds too, which also says how well, and why not.

    Parameters
    ----------
    structure, worksite, situation
        As in `restraint_reach`.
    restraint
        The type to ask about.
    surroundings
        What stands round the grips in that situation.
    """
    situation = complete(structure, situation)
    own = structure.by_id.get(worksite.socket or "")
    if not worksite.targets or not isinstance(own, Socket):
        return False
    if not _is_open(structure, own, situation) or not is_rated(restraint, situation.limits):
        return False
    bodies = bodies_asked(structure, situation.person)
    tried = _tried(worksite, own, (bodies, situation, True), restraint)
    return all(able_bodies(tried, surroundings, situation.limits.work_facing_deg))


def restraint_verdicts(
    structure: Structure, worksites: Iterable[Worksite], situation: Situation
) -> dict[str, WorksiteRestraint]:
    """Say in short whether a foot restraint puts the hands where the work is.

    Only each worksite's own socket is looked at; a worksite on a handrail names none, so it
    is not asked about.

    Parameters
    ----------
    structure, situation
        As in `restraint_reach`.
    worksites
        Some of the structure's; asked about together, which is much faster than one by one.

    Returns
    -------
    dict
        By worksite id what `restraint_reach` finds, but only what decides is looked for
        (`routing.worksites.restraints.deciding`): ``sockets`` stays empty.
    """
    situation = complete(structure, situation)
    bodies = bodies_asked(structure, situation.person)
    several = list(worksites)
    asked = [
        [_tried(one, own, (bodies, situation, True), kind) for kind in restraints_of(structure)]
        if one.targets and isinstance(own, Socket) and _is_open(structure, own, situation)
        else []
        for one in several
        for own in [structure.by_id.get(one.socket or "")]
    ]
    reaches = deciding_reaches(
        asked, survey(structure, situation), situation.limits.work_facing_deg
    )
    return {
        worksite.id: _verdict(structure, worksite, (situation, bodies), tried)
        for worksite, tried in zip(several, reaches, strict=True)
    }


def _verdict(
    structure: Structure,
    worksite: Worksite,
    asked: tuple[Situation, Sequence[Body]],
    tried: Sequence[SocketReach],
) -> WorksiteRestraint:
    situation, bodies = asked
    if worksite.socket is None and worksite.targets:
        return WorksiteRestraint(
            worksite=worksite.id,
            name=worksite.name,
            verdict="none planned" if worksite.without_restraint else "not asked",
            targets=len(worksite.targets),
            bodies=tuple(one.id for one in bodies),
        )
    found = judged(structure, worksite, situation, bodies, tried)
    built_in = _built_in_used(structure, situation.person, bodies, None)
    kicks = check_kicks(structure, found, tried, situation.limits.kick_distance_m)
    return replace(found, findings=(*built_in, *kicks), sockets=())


def restraint_reach(
    structure: Structure,
    worksite: Worksite,
    situation: Situation,
    *,
    body: str | None = None,
    in_short: bool = False,
    reached: Collection[str] | None = None,
) -> WorksiteRestraint:
    """Try every setting in every socket near a worksite for every body.

    Parameters
    ----------
    structure
        With references checked; without restraints or bodies of its own the
        built-in ones count, and a finding says so.
    worksite
        One of the structure's.
    situation
        Zones and closures that count, and the limits. A person with a body is
        asked about with that body alone.
    body
        Id of the only body to ask about; before the person's.
    in_short
        Whether to look at the worksite's own socket only, and keep its best setting only.
    reached
        Ids of the sockets that a safe tethered route leads to
        (`routing.worksites.tethered.safe_sites`); by default ways are not asked about.

    Returns
    -------
    WorksiteRestraint

    Raises
    ------
    UnknownIdError
        There is no such body, condition or closed element.
    """
    situation = complete(structure, situation)
    bodies = bodies_asked(structure, situation.person, body)
    built_in = _built_in_used(structure, situation.person, bodies, body)
    tried: list[SocketReach] = []
    if worksite.targets:
        surroundings = survey(structure, situation)
        for socket, own in _in_turn(structure, worksite, situation, bodies):
            if not own and in_short:
                break
            asked = (bodies, surroundings, situation, 1 if in_short else _MOST, own)
            there = None if reached is None else socket.id in reached
            tried += (
                replace(one, reached=there) for one in _try(structure, worksite, socket, asked)
            )
    found = judged(structure, worksite, situation, bodies, tried)
    if not worksite.targets and worksite.socket is not None and reached is not None:
        there = worksite.socket in reached
        found = replace(found, socket=worksite.socket, way="reached" if there else "not reached")
    kicks = check_kicks(structure, found, tried, situation.limits.kick_distance_m)
    return replace(found, findings=(*_not_reached(found), *built_in, *kicks))


def all_restraints(
    structure: Structure,
    situation: Situation,
    *,
    body: str | None = None,
    reached: Collection[str] | None = None,
) -> tuple[WorksiteRestraint, ...]:
    """Ask about every worksite at a socket in short, as `restraint_verdict` does.

    Returns
    -------
    tuple of WorksiteRestraint
        Those that nobody gets to first, then worst verdict, then least margin, then by id.
    """
    found = [
        restraint_reach(structure, worksite, situation, body=body, in_short=True, reached=reached)
        for worksite in structure.worksites
        if worksite.socket is not None
    ]

    def rank(one: WorksiteRestraint) -> tuple[bool, int, float, str]:
        least = float("-inf") if one.margin_m is None else one.margin_m
        there = one.way != "not reached"
        return there, RESTRAINT_VERDICTS.index(one.verdict), least, one.worksite

    return tuple(sorted(found, key=rank))


def _in_turn(
    structure: Structure, worksite: Worksite, situation: Situation, bodies: Sequence[Body]
) -> Iterator[tuple[Socket, bool]]:
    """Yield the sockets to try, the worksite's own first, and whether each is its own."""
    own = structure.by_id.get(worksite.socket or "")
    if isinstance(own, Socket) and _is_open(structure, own, situation):
        yield own, True
    for socket, spare_m in sockets_near(structure, worksite, situation, bodies):
        if spare_m >= 0 and socket.id != worksite.socket and has_clock_zero(socket):
            yield socket, False


def _try(
    structure: Structure,
    worksite: Worksite,
    socket: Socket,
    asked: tuple[Sequence[Body], Surroundings, Situation, int, bool],
) -> Iterator[SocketReach]:
    bodies, surroundings, situation, most, own = asked
    for restraint in restraints_of(structure):
        tried = _tried(worksite, socket, (bodies, situation, own), restraint)
        yield reach_of(tried, surroundings, situation.limits.work_facing_deg, most)


def _tried(
    worksite: Worksite,
    socket: Socket,
    asked: tuple[Sequence[Body], Situation, bool],
    restraint: Restraint,
) -> Tried:
    bodies, situation, own = asked
    return Tried(
        socket=socket,
        own=own,
        restraint=restraint,
        rated=is_rated(restraint, situation.limits),
        bodies=tuple(bodies),
        targets=worksite.targets,
    )


def _is_open(structure: Structure, socket: Socket, situation: Situation) -> bool:
    return why_barred(structure, situation, socket) is None and has_clock_zero(socket)


def _not_reached(found: WorksiteRestraint) -> Iterator[Finding]:
    if found.way != "not reached" or found.socket is None:
        return
    yield Finding(
        code="socket-not-reached",
        severity="blocks",
        elements=(found.socket,),
        worksite=found.worksite,
        message=(
            f"no safe tethered way leads from a hatch to socket {found.socket}: nobody gets to "
            f"{found.worksite} there; `gripway route` says what is in the way"
        ),
    )


def _built_in_used(
    structure: Structure, person: Person | None, bodies: Sequence[Body], body: str | None
) -> Iterator[Finding]:
    if not structure.restraints:
        yield Finding(
            code="built-in-restraint",
            severity="warns",
            message=(
                "the structure lists no restraints, so the built-in one was used; its numbers are "
                "from memory or assumed; list the restraints that are really used"
            ),
        )
    if not structure.bodies:
        yield Finding(
            code="built-in-bodies",
            severity="warns",
            message=(
                f"the structure lists no bodies, so the built-in ones ({', '.join(BUILT_IN_BODIES)}"
                ") were used; their numbers are from memory or assumed; list measured ones"
            ),
        )
    if person is not None and person.body is None and body is None:
        yield Finding(
            code="body-not-known",
            severity="warns",
            elements=(person.id,),
            message=(
                f"person {person.id} names no body, so all were asked about: "
                f"{', '.join(one.id for one in bodies)}; give the person a body"
            ),
        )
