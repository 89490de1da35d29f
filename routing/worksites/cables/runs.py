"""Cable runs: over which ties a cable is laid, what length it needs, where the spare goes."""

from collections.abc import Collection, Iterable, Sequence
from functools import partial
from itertools import islice, pairwise
from typing import Literal

import numpy as np

from routing.graph.build import complete
from routing.graph.situation import Situation
from routing.graph.surroundings import Named, survey
from routing.graph.ways import LENGTH_SLACK_M
from routing.limits import Limits
from routing.paths.answers.result_base import Result
from routing.worksites.cables.search import runs
from routing.worksites.cables.spans import CableRules, Place, Span, joint, spans_of
from structures.cables import Cable, CableTie, Connector
from structures.elements import Handhold, Handrail
from structures.frames import Vector
from structures.model import Structure
from structures.polylines import Polyline
from structures.solids.axes import Floats
from structures.solids.distance import signed_distance
from structures.units import length_text
from structures.zones import active_zones, zone_shape

__all__ = ["CableRun", "CableRuns", "Stowed", "find_cable_runs"]


class CableSpan(Result):
    """One span of a run."""

    tail: str
    head: str
    length_m: float
    points_m: tuple[Vector, ...]
    bend_radius_m: float | None = None
    """The largest radius that fits at the tie it leads to; not given where it runs straight."""


class Stowed(Result):
    """Spare cable stowed in loops at a tie."""

    tie: str
    length_m: float


class CableRun(Result):
    """One way to lay a cable."""

    verdict: Literal["ok", "too short", "spare not stowed"]
    ties: tuple[str, ...]
    """Where it is tied, in order."""
    spans: tuple[CableSpan, ...]
    length_m: float
    """Cable along the way, with what bends take at most."""
    needed_m: float
    """The same with slack, and the service loops at both ends."""
    spare_m: float
    """Cable that is left over; below 0: that is missing."""
    stowed: tuple[Stowed, ...] = ()
    reason: str | None = None


class CableRuns(Result):
    """How a cable can be laid between two connectors."""

    cable: str
    start: str
    goal: str
    cable_m: float
    kept_clear: tuple[str, ...]
    """Handrails and handholds that it stays clear of."""
    best: CableRun | None = None
    """The shortest run that is ok, or else the shortest."""
    others: tuple[CableRun, ...] = ()
    reason: str | None = None
    """Why there is no run at all."""

    @property
    def safe(self) -> bool:
        """Whether the cable can be laid as the best run says."""
        return self.best is not None and self.best.verdict == "ok"


def find_cable_runs(
    structure: Structure,
    cable_id: str,
    ends: tuple[str, str],
    situation: Situation,
    *,
    keep_clear: Collection[str] = (),
    count: int = 3,
) -> CableRuns:
    """Find the shortest runs of a cable from one connector to another.

    Parameters
    ----------
    structure
        With references checked.
    cable_id, ends
        The cable, and the connectors it runs from and to.
    situation
        Gives limits, conditions and closures.
    keep_clear
        Handrails and handholds that it must not cross, such as those of routes.
    count
        How many runs are looked at, the shortest first.

    Notes
    -----
    A cable counts as an item and as a tether line: it keeps out of every
    keep-out zone in force that applies to either. Each span is the shortest way
    round solids, exact or a real line (`structures.solids.taut`). The length
    needed is an upper bound; the first run is the shortest of all that keep the
    rules of `routing.worksites.cables.spans`. If no run of those looked at is
    ok, a longer one might take up spare cable: more may be asked for by ``count``.

    Raises
    ------
    UnknownIdError
        The structure has no such cable, connector, handrail or handhold.
    ValueError
        Both ends are the same.
    """
    cable = structure.find(cable_id, (Cable,))
    start, goal = ends
    if start == goal:
        raise ValueError(f"a cable from {start} to itself leads nowhere; name another connector")
    situation = complete(structure, situation)
    limits = situation.limits
    rules = _rules(structure, cable, situation, keep_clear)
    places = _places(structure, ends)
    spans = spans_of(rules, places)
    ties = {tie.id: tie for tie in structure.cable_ties}
    found = [
        _run(rules, cable, limits, some, ties)
        for some in islice(runs(rules, spans, start, goal), count)
    ]
    best = next((run for run in found if run.verdict == "ok"), found[0] if found else None)
    return CableRuns(
        cable=cable.id,
        start=start,
        goal=goal,
        cable_m=cable.length_m,
        kept_clear=tuple(sorted(rules.rails)),
        best=best,
        others=tuple(run for run in found if run is not best),
        reason=None if found else _why_none(rules, places, spans, ends),
    )


def _rules(
    structure: Structure, cable: Cable, situation: Situation, keep_clear: Collection[str]
) -> CableRules:
    limits = situation.limits
    around = survey(structure, situation)
    zones = [
        zone
        for zone in active_zones(structure, situation.when)
        if zone.kind == "keep-out" and {"item", "tether"} & set(zone.applies_to)
    ]
    rails: dict[str, Polyline] = {}
    for one in sorted(keep_clear):
        element = structure.find(one, (Handrail, Handhold))
        points = element.points_m if isinstance(element, Handrail) else None
        if points is None and isinstance(element, Handhold):
            points = (element.position_m,)
        rails[one] = Polyline.through(points or ())
    return CableRules(
        bend_radius_m=cable.bend_radius_m,
        spacing_m=cable.spacing_m or limits.cable_spacing_m,
        play_m=limits.cable_play_m,
        rail_clear_m=limits.cable_rail_clear_m,
        solids=around.solids,
        zones=Named(tuple(zone_shape(zone) for zone in zones), tuple(zone.id for zone in zones)),
        rails=rails,
    )


def _places(structure: Structure, ends: Iterable[str]) -> list[Place]:
    places: list[Place] = [
        (tie.id, np.asarray(tie.position_m, dtype=np.float64), None) for tie in structure.cable_ties
    ]
    for end in ends:
        connector = structure.find(end, (Connector,))
        out = np.asarray(connector.normal, dtype=np.float64)
        places.append((end, np.asarray(connector.position_m), out / np.sqrt(out @ out)))
    return places


def _run(
    rules: CableRules,
    cable: Cable,
    limits: Limits,
    spans: Sequence[Span],
    ties: dict[str, CableTie],
) -> CableRun:
    length_m = sum(span.length_m for span in spans)
    needed_m = length_m * limits.cable_slack_factor + 2 * cable.service_loop_m
    spare_m = cable.length_m - needed_m
    if abs(spare_m) <= LENGTH_SLACK_M:
        # As long as needed, but for rounding: neither short by nothing nor with something to stow.
        spare_m = 0.0
    tied = tuple(span.head for span in spans[:-1])
    verdict: Literal["ok", "too short", "spare not stowed"] = "ok"
    reason = None
    stowed: tuple[Stowed, ...] = ()
    if spare_m < 0:
        verdict = "too short"
        reason = (
            f"the cable is {length_text(-spare_m, 'up')} too short: "
            f"{length_text(needed_m, 'up')} are needed"
        )
    elif spare_m > limits.cable_loose_m + LENGTH_SLACK_M:
        stowed, left_m = _stowed([ties[tie] for tie in dict.fromkeys(tied)], spare_m)
        if left_m > limits.cable_loose_m + LENGTH_SLACK_M:
            verdict = "spare not stowed"
            reason = (
                f"{length_text(spare_m, 'up')} of cable are left over, and the ties on the way "
                f"stow {length_text(spare_m - left_m, 'down')} of it; take a shorter cable, "
                "or give a tie room to stow"
            )
    bends = [joint(rules, one, other).radius_m for one, other in pairwise(spans)]
    return CableRun(
        verdict=verdict,
        ties=tied,
        spans=tuple(
            CableSpan(
                tail=span.tail,
                head=span.head,
                length_m=span.length_m,
                points_m=tuple((x, y, z) for x, y, z in span.points_m.tolist()),
                bend_radius_m=radius_m if radius_m is not None and np.isfinite(radius_m) else None,
            )
            for span, radius_m in zip(spans, [*bends, None], strict=True)
        ),
        length_m=length_m,
        needed_m=needed_m,
        spare_m=spare_m,
        stowed=stowed,
        reason=reason,
    )


def _stowed(ties: Sequence[CableTie], spare_m: float) -> tuple[tuple[Stowed, ...], float]:
    """Stow spare cable at as few ties as can be: where most goes first, then in id order."""
    left_m = spare_m
    stowed = []
    for tie in sorted(ties, key=lambda tie: (-tie.stow_m, tie.id)):
        here_m = min(left_m, tie.stow_m)
        if here_m > 0:
            stowed.append(Stowed(tie=tie.id, length_m=here_m))
            left_m -= here_m
    return tuple(stowed), left_m


_KINDS = {
    "zone": "keep-out zones",
    "handrail": "handrails to keep clear of",
    "spacing": "the spacing of ties",
    "bend": "the bend radius",
    "solid": "solids before the plugs",
}


def _led_into(rules: CableRules, lead_m: Floats) -> str | None:
    """Return the solid that the straight piece out of a plug ends in, if any."""
    for shape, name in zip(rules.solids.shapes, rules.solids.ids, strict=True):
        if signed_distance(shape, lead_m[None])[0] < 0:
            return name
    return None


def _against_only(kind: str, span: Span) -> bool:
    """Tell whether a span breaks no rule but perhaps this one."""
    return not set(span.against) - {kind}


def _why_none(
    rules: CableRules, places: Sequence[Place], spans: Sequence[Span], ends: tuple[str, str]
) -> str:
    """Say which one rule, left out, would open a way, and what it is about."""
    start, goal = ends
    opens = []
    for kind, words in _KINDS.items():
        way = next(
            runs(
                rules,
                spans,
                start,
                goal,
                partial(_against_only, kind),
                bends=kind != "bend",
            ),
            None,
        )
        if way is not None:
            met = sorted({one for span in way for one in span.against.get(kind, ())})
            about = f" ({', '.join(met)})" if met else ""
            length_m = sum(span.length_m for span in way)
            opens.append(f"without {words}{about} there is one of {length_text(length_m, 'up')}")
    if opens:
        return f"no run from {start} to {goal}: {'; '.join(opens)}"
    for name, place_m, out in places:
        solid = None if out is None else _led_into(rules, place_m + rules.lead_m * out)
        if solid is not None:
            return (
                f"no run from {start} to {goal}: connector {name} leads the cable into solid "
                f"{solid} within {rules.lead_m:.2f} m; turn its normal round, or clear the way out"
            )
    at_start = [span for span in spans if span.tail == start]
    at_goal = [span for span in spans if span.head == goal]
    for end, near in ((start, at_start), (goal, at_goal)):
        if not near:
            return (
                f"no run from {start} to {goal}: no tie is within {rules.spacing_m:g} m of "
                f"{end}; add a cable tie there"
            )
    return (
        f"no run from {start} to {goal}: no chain of ties at most {rules.spacing_m:g} m apart "
        "leads there, or two rules stand against each; add cable ties on the way"
    )
