"""From what was found in each socket to one verdict on a worksite, with its reason."""

from collections.abc import Sequence
from typing import Any, Final, Literal

from routing.graph.situation import Situation
from routing.worksites.restraints.checks import ANGLES, CHECKS, ROOM_SEEN_M
from routing.worksites.restraints.choice import sockets_near, why_barred
from routing.worksites.restraints.poses import has_clock_zero
from routing.worksites.restraints.records import (
    BodyReach,
    RestraintVerdict,
    SettingRow,
    SocketReach,
    WorksiteRestraint,
)
from structures.bodies import Body
from structures.elements import Socket, Worksite
from structures.model import Structure
from structures.units import fine_text

__all__ = ["judged", "margin_text", "setting_text", "shortfall_text"]


def judged(
    structure: Structure,
    worksite: Worksite,
    situation: Situation,
    bodies: Sequence[Body],
    tried: Sequence[SocketReach],
) -> WorksiteRestraint:
    """Judge a worksite by all that was tried.

    Every body that was asked about must be able to do all of the work from one
    socket with one rated type of restraint: the one that the worksite names,
    or any if it is on a handrail. Who will go is not known here, so the least
    able counts (NASA-STD-3001 Vol 2 Rev B 4.4 [V2 4008]: what is to be reached
    is within reach of the most limited crewmember).
    """
    asked = tuple(body.id for body in bodies)
    head: dict[str, Any] = {
        "worksite": worksite.id,
        "name": worksite.name,
        "targets": len(worksite.targets),
        "bodies": asked,
    }
    if not worksite.targets:
        return WorksiteRestraint(**head, verdict="nothing to reach")
    ranked = sorted(tried, key=lambda one: _rank(one, len(asked)))
    if not ranked:
        return WorksiteRestraint(
            **head, verdict="no setting", reason=_no_socket(structure, worksite, situation, bodies)
        )
    own = [one for one in ranked if one.own or worksite.socket is None]
    best_own = own[0] if own else None
    whole = next((one for one in ranked if _serves_all(one) and one.reached is not False), None)
    verdict: RestraintVerdict
    reason: str | None
    if best_own is not None and _serves_all(best_own):
        decides, verdict, reason = best_own, "ok", None
    elif whole is not None:
        decides, verdict = whole, "another socket"
        why = _why_own(structure, worksite, situation, best_own)
        reason = (
            f"{why}; socket {whole.socket} serves with restraint {whole.restraint}: name it as the "
            "worksite's socket"
        )
    else:
        decides = best_own or ranked[0]
        verdict, reason = _partly(structure, worksite, situation, best_own, ranked)
    return WorksiteRestraint(
        **head,
        verdict=verdict,
        way=_WAYS[decides.reached],
        reason=reason,
        **_deciding(decides),
        sockets=tuple(ranked),
    )


_WAYS: Final[dict[bool | None, Literal["reached", "not reached", "not asked"]]] = {
    True: "reached",
    False: "not reached",
    None: "not asked",
}


def setting_text(row: SettingRow) -> str:
    """Return a setting as it is called out: clock position, then each joint.

    Examples
    --------
    >>> row = SettingRow(clock=3, joints_deg={"pitch": -30.0, "yaw": 0.0}, limited_by="too far")
    >>> setting_text(row)
    'clock 3, pitch -30 deg, yaw 0 deg'
    """
    parts = [f"clock {row.clock}", *(f"{k} {v:g} deg" for k, v in row.joints_deg.items())]
    return ", ".join(parts)


def shortfall_text(row: SettingRow) -> str:
    """Return what limits a setting in words, with how much is missing."""
    about = _about(row)
    said = f"{row.limited_by} ({about})" if about else row.limited_by
    if row.margin_m is None:
        return said
    return f"{said} by {fine_text(-row.margin_m, 'up')}{_arc(row)}"


def margin_text(row: SettingRow) -> str:
    """Return in words what a setting that works has to spare, and what limits it next."""
    margin = f"margin {fine_text(row.margin_m or 0.0, 'down')}{_arc(row)}"
    about = _about(row)
    if about:
        return f"{margin} (next limit: {row.limited_by}, {about})"
    return f"{margin} or more (nothing is nearer than that to body, boots or restraint)"


def _about(row: SettingRow) -> str:
    """Return what decides a check: a target, what is near, or the restraint's own links."""
    if row.target:
        return f"target {row.target}"
    if row.near:
        return row.near
    # Nothing else is near: then it is the person on it whom the restraint is near to,
    # unless room is no longer told apart.
    links = row.limited_by == CHECKS[-1] and (row.margin_m or 0.0) < ROOM_SEEN_M
    return "of the person's own legs or trunk" if links else ""


def _arc(row: SettingRow) -> str:
    """Return what a length stands for where the check is of an angle."""
    return " of arc at the target" if row.limited_by in ANGLES else ""


def _serves_all(one: SocketReach) -> bool:
    return one.rated and all(body.working for body in one.bodies)


def _worst_body(one: SocketReach) -> BodyReach:
    return min(one.bodies, key=lambda body: (_margin(body), body.body))


def _margin(body: BodyReach) -> float:
    if body.best:
        return body.best[0].margin_m or 0.0
    missing = body.nearest.margin_m if body.nearest is not None else None
    return float("-inf") if missing is None else min(missing, 0.0)


def _rank(one: SocketReach, asked: int) -> tuple[bool, bool, int, bool, float, str, str]:
    able = sum(body.working > 0 for body in one.bodies)
    worst = _margin(_worst_body(one))
    away = one.reached is False and not one.own
    return (away, not one.rated, asked - able, not one.own, -worst, one.socket, one.restraint)


def _deciding(one: SocketReach) -> dict[str, Any]:
    worst = _worst_body(one)
    row = worst.best[0] if worst.best else worst.nearest
    return {
        "able": tuple(body.body for body in one.bodies if body.working),
        "socket": one.socket,
        "restraint": one.restraint,
        "body": worst.body,
        "setting": row,
        "margin_m": None if row is None else row.margin_m,
    }


def _partly(
    structure: Structure,
    worksite: Worksite,
    situation: Situation,
    best_own: SocketReach | None,
    ranked: Sequence[SocketReach],
) -> tuple[RestraintVerdict, str]:
    if not any(one.rated for one in ranked):
        names = ", ".join(sorted({one.restraint for one in ranked}))
        limits = situation.limits
        why = (
            f"no restraint here ({names}) is rated for {limits.restraint_load_n:.0f} N and "
            f"{limits.restraint_moment_nm:.0f} N m; give the rating from its certification data"
        )
        return "unknown", why
    why = _why_own(structure, worksite, situation, best_own)
    able = [] if best_own is None else [one.body for one in best_own.bodies if one.working]
    if best_own is not None and best_own.rated and able:
        return "some bodies", f"only for {', '.join(able)}: {why}"
    elsewhere = [
        f"{one.socket} for {', '.join(body.body for body in one.bodies if body.working)}"
        for one in ranked
        if one.rated
        and not one.own
        and one.reached is not False
        and any(body.working for body in one.bodies)
    ]
    return "no setting", why + (f"; but socket {elsewhere[0]}" if elsewhere else "")


def _why_own(
    structure: Structure, worksite: Worksite, situation: Situation, own: SocketReach | None
) -> str:
    socket = structure.by_id.get(worksite.socket or "")
    barred = why_barred(structure, situation, socket) if isinstance(socket, Socket) else None
    if barred is not None:
        return barred
    if own is None:
        return "no socket is near"
    worst = _worst_body(own)
    if worst.nearest is None:
        return f"restraint {own.restraint} is not rated for the loads"
    return (
        f"none of {worst.settings} settings of restraint {own.restraint} in {own.socket} works for "
        f"{worst.body}; the nearest ({setting_text(worst.nearest)}) fails: "
        f"{shortfall_text(worst.nearest)}"
    )


def _no_socket(
    structure: Structure, worksite: Worksite, situation: Situation, bodies: Sequence[Body]
) -> str:
    own = structure.by_id.get(worksite.socket or "")
    if isinstance(own, Socket) and not has_clock_zero(own):
        return (
            f"clock zero of socket {own.id} is along its normal, so no clock position is known; "
            "give one at right angles to the normal"
        )
    barred = why_barred(structure, situation, own) if isinstance(own, Socket) else None
    if barred is not None:
        return f"{barred}, and no other was found near"
    nearest = next(sockets_near(structure, worksite, situation, bodies), None)
    if nearest is None:
        return "the structure has no open socket"
    socket, spare_m = nearest
    return (
        f"no socket is near enough: {socket.id} is the nearest, and its farthest target is "
        f"{-spare_m:.2f} m beyond what any restraint and body reach"
    )
