"""How one worksite's payload is tied, in full: lines, pulls, drift, and two people."""

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations
from math import dist

from routing.graph.situation import Situation
from routing.graph.surroundings import Named
from routing.paths.answers.records import heading
from routing.paths.answers.results import Result
from routing.worksites.ties.attach_search import AttachSearch, Tied, pull
from routing.worksites.ties.chains import Job, chain_parts, tie_worksite
from routing.worksites.ties.drifting import Fast, room_to_drift
from routing.worksites.ties.kit import TetherKit, weakest_rating_n
from routing.worksites.ties.records import ChainPart, Position, Verdict, WorksiteChain
from routing.worksites.ties.stability import one_side
from routing.worksites.ties.two_sides import PLACE_STEP_M, find_two_sides
from routing.worksites.ties.why_no_chain import why_no_place
from structures.elements import Worksite
from structures.findings import Finding, sorted_findings
from structures.frames import Vector
from structures.model import Structure
from structures.solids.taut import Way
from structures.units import length_text

__all__ = ["Drift", "HeldByTwo", "PassedOver", "TieDetails", "TieLine", "TiedChain", "tie_details"]

_APART_M = 5e-3
"""Attach points nearer to each other than this are one place: no two hooks fit so near [m]."""


class TieLine(Result):
    """The line of a chain in one position of the payload."""

    length_m: float
    """It need not be longer than this."""
    exact: bool
    """Whether it is known to be the shortest, or only a real line that touches nothing."""
    margin_m: float
    """Distance of its length from the nearer end of the chain's span."""
    points_m: tuple[Vector, ...]
    """From the handrail to the payload; over a round skin there are points on the way."""
    pull: Vector
    """Direction in which it pulls at the payload, of length 1."""


class TiedChain(Result):
    """One chain with its place and its lines."""

    attach: str
    handrail: str
    along_m: float
    place_m: Vector
    chain: tuple[ChainPart, ...]
    rating_n: float | None
    cinched_m: float
    extended_m: float
    held: TieLine
    seated: TieLine


class PassedOver(Result):
    """A chain that would have come first, and why it cannot be tied anywhere."""

    attach: str
    chain: tuple[ChainPart, ...]
    reason: str


class Drift(Result):
    """A way the payload may move without any line holding it."""

    position: Position
    direction: Vector
    heading: str | None
    """The trade direction that this is nearest to."""
    within_deg: float
    """All lines pull toward this direction, at no more than this angle."""
    up_to_m: float
    """It goes no farther that way, with lines drawn tight, before one of them is taut again or a
    place where one is made fast to it meets a solid."""
    solid: str | None = None
    """That solid, if one stops it sooner than a line."""


class HeldByTwo(Result):
    """Two chains with which two people hold the payload from two sides."""

    chains: tuple[TiedChain, TiedChain]
    """The first person's and the second's."""
    held_deg: float
    """Angle between the two pulls while held."""
    seated_deg: float
    margin_m: float
    """The lesser of the two margins."""


class TieDetails(Result):
    """How the payload of one worksite is tied."""

    worksite: str
    name: str = ""
    verdict: Verdict
    answer: WorksiteChain
    chains: tuple[TiedChain, ...]
    """Those that are tied, in order of attach points."""
    passed_over: tuple[PassedOver, ...]
    """Chains of fewer tethers, or as many, that were tried before these."""
    drifts: tuple[Drift, ...]
    by_two: HeldByTwo | None = None
    by_two_reason: str | None = None
    """Why two people cannot hold it from two sides."""
    findings: tuple[Finding, ...]

    @property
    def safe(self) -> bool:
        """Whether everything there is to tie can be tied at once, by somebody who gets there."""
        blocked = any(one.severity == "blocks" for one in self.findings)
        return self.verdict in {"ok", "nothing to tie"} and not blocked

    @property
    def drift_told(self) -> str:
        """What a verdict must not leave out: that no line holds the payload one way, how far."""
        told = [
            f"up to {length_text(drift.up_to_m, 'up')} toward "
            f"{'one side' if drift.heading is None else drift.heading} while {drift.position}"
            + (f" (as far as {drift.solid})" if drift.solid else "")
            for drift in self.drifts
        ]
        return f"CAN DRIFT {', '.join(told)}, where no line holds it" if told else ""


def tie_details(
    structure: Structure,
    worksite_id: str,
    situation: Situation,
    *,
    kit: TetherKit | None = None,
    reached: Collection[str] | None = None,
) -> TieDetails:
    """Find how one worksite is tied; parameters as in `routing.worksites.ties.chains.find_chain`.

    Notes
    -----
    Stability: if the pulls of all chains lie in one open half-space
    (`routing.worksites.ties.stability.one_side`), no line keeps the payload from
    drifting that way, and a finding says so. Two people: see
    `routing.worksites.ties.two_sides.find_two_sides`.

    Raises
    ------
    UnknownIdError
        No worksite has this id.
    """
    worksite = structure.find(worksite_id, (Worksite,))
    job = Job.of(structure, situation, kit, reached)
    answer, tied = tie_worksite(job, worksite)
    chains = tuple(_tied(attach, *found) for attach, found in sorted(tied.items()))
    drifts = _drifts(worksite, chains, job.around.solids)
    two, reason = _by_two(job, {attach: search for attach, (search, _) in tied.items()})
    return TieDetails(
        worksite=worksite.id,
        name=worksite.name,
        verdict=answer.verdict,
        answer=answer,
        chains=chains,
        passed_over=tuple(
            one for attach, found in sorted(tied.items()) for one in _passed_over(attach, *found)
        ),
        drifts=drifts,
        by_two=two,
        by_two_reason=reason,
        findings=sorted_findings(
            [*_findings(worksite, chains, drifts), *_not_reached(worksite, reached)]
        ),
    )


def _tied(attach: str, search: AttachSearch, tied: Tied) -> TiedChain:
    series = tied.series
    held, seated = search.ways(tied)
    x, y, z = search.place_m(tied).tolist()
    return TiedChain(
        attach=attach,
        handrail=tied.handrail,
        along_m=tied.place.along_m,
        place_m=(x, y, z),
        chain=chain_parts(search.kit, series),
        rating_n=weakest_rating_n(search.kit.links(series.used)),
        cinched_m=series.cinched_m,
        extended_m=series.extended_m,
        held=_line(tied, tied.place.held.shortest_m, tied.place.held.longest_m, held),
        seated=_line(tied, tied.place.seated.shortest_m, tied.place.seated.longest_m, seated),
    )


def _passed_over(attach: str, search: AttachSearch, tied: Tied) -> list[PassedOver]:
    """Say of each series that goes before the one tied why it is tied nowhere."""
    before = [one for one in search.tried() if one.key < tied.series.key]
    return [
        PassedOver(
            attach=attach,
            chain=chain_parts(search.kit, series),
            reason=why_no_place(search.search, search.names, [series])[0],
        )
        for series in before
        if search.search.best(series).place is None
    ]


def _line(tied: Tied, shortest_m: float, longest_m: float, way: Way) -> TieLine:
    series = tied.series
    return TieLine(
        length_m=longest_m,
        exact=way.exact,
        margin_m=max(min(series.extended_m - longest_m, shortest_m - series.cinched_m), 0.0),
        points_m=tuple((x, y, z) for x, y, z in way.points_m.tolist()),
        pull=pull(way),
    )


def _drifts(worksite: Worksite, chains: Sequence[TiedChain], solids: Named) -> tuple[Drift, ...]:
    found = []
    attach = {one.id: one for one in worksite.attach}
    positions: tuple[Position, ...] = ("held", "seated")
    for position in positions if chains else ():
        side = one_side([getattr(chain, position).pull for chain in chains])
        if side is not None:
            lines = [
                Fast(
                    chain.place_m,
                    getattr(attach[chain.attach], f"{position}_m"),
                    getattr(chain, position).length_m,
                )
                for chain in chains
            ]
            room = room_to_drift(lines, side.direction, solids)
            found.append(
                Drift(
                    position=position,
                    direction=side.direction,
                    heading=heading((0.0, 0.0, 0.0), side.direction),
                    within_deg=side.within_deg,
                    up_to_m=room.up_to_m,
                    solid=room.solid,
                )
            )
    return tuple(found)


def _by_two(job: Job, searches: dict[str, AttachSearch]) -> tuple[HeldByTwo | None, str | None]:
    if not searches:
        return None, None
    apart_deg = job.limits.opposed_pull_deg
    kit = next(iter(searches.values())).kit
    found = find_two_sides(searches, kit, apart_deg)
    if found is None:
        return None, (
            f"no two chains on two handrails with a free line to both positions, looked at every "
            f"{PLACE_STEP_M:g} m, pull {apart_deg:g} deg or more apart with the tethers there are"
        )
    first, second = (
        _tied(attach, searches[attach], tied)
        for attach, tied in zip(found.attach, found.tied, strict=True)
    )
    return HeldByTwo(
        chains=(first, second),
        held_deg=found.held_deg,
        seated_deg=found.seated_deg,
        margin_m=max(min(one.margin_m for one in found.tied), 0.0),
    ), None


def _pulling(count: int) -> str:
    return "the one line pulls" if count == 1 else "all lines pull"


def _findings(
    worksite: Worksite, chains: Sequence[TiedChain], drifts: Sequence[Drift]
) -> list[Finding]:
    findings = [
        Finding(
            code="chains-pull-one-way",
            severity="notes",
            elements=tuple(dict.fromkeys(chain.handrail for chain in chains)),
            worksite=worksite.id,
            message=(
                f"{_pulling(len(chains))} toward {drift.heading} while {drift.position}, within "
                f"{drift.within_deg:.0f} deg: drawn tight nothing keeps the payload from drifting "
                f"that way, up to {length_text(drift.up_to_m, 'up')}"
                + (f" (then it meets {drift.solid})" if drift.solid else "")
                + "; hold it, or tie another attach point from the other side"
            ),
            value=drift.within_deg,
            limit=90.0,
            unit="deg",
        )
        for drift in drifts
    ]
    by_handrail: dict[str, list[str]] = {}
    for chain in chains:
        by_handrail.setdefault(chain.handrail, []).append(chain.attach)
    findings += [
        Finding(
            code="chains-at-one-place",
            severity="notes",
            elements=(handrail,),
            worksite=worksite.id,
            message=(
                f"the chains to {', '.join(attach)} are all tied to handrail {handrail}: if it "
                f"fails all {len(attach)} are lost; check the handrail's own rating for all at once"
            ),
        )
        for handrail, attach in by_handrail.items()
        if len(attach) > 1
    ]
    return [*findings, *_coincident(worksite)]


def _not_reached(worksite: Worksite, reached: Collection[str] | None) -> Iterator[Finding]:
    """Find that nobody gets to the worksite who could tie anything there."""
    place = worksite.socket or worksite.handrail
    if reached is None or place is None or place in reached or not worksite.attach:
        return
    yield Finding(
        code="worksite-not-reached",
        severity="blocks",
        elements=(place,),
        worksite=worksite.id,
        message=(
            f"no safe way leads to {place}, where {worksite.id} is: nobody ties anything there; "
            "`gripway route` says what is in the way"
        ),
    )


def _coincident(worksite: Worksite) -> Iterator[Finding]:
    """Find attach points in one place: two hooks in one eye, or a slip in the data."""
    for one, other in combinations(sorted(worksite.attach, key=lambda point: point.id), 2):
        words = [
            word
            for word, gap_m in (
                ("held", dist(one.held_m, other.held_m)),
                ("seated", dist(one.seated_m, other.seated_m)),
            )
            if gap_m < _APART_M
        ]
        if words:
            yield Finding(
                code="attach-points-coincide",
                severity="warns",
                elements=(one.id, other.id),
                worksite=worksite.id,
                message=(
                    f"attach points {one.id} and {other.id} are within {1000 * _APART_M:g} mm of "
                    f"each other {' and '.join(words)}: two chains there hold no better than one "
                    "against turning; give each its own place, or say that one eye takes both hooks"
                ),
            )
