"""Safety-tether chains: from the airlock to every worksite, stay by stay."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from typing import Any, Final, Literal

from routing.graph.reach_graph import ReachGraph
from routing.graph.sites import site_grips
from routing.paths.answers.results import HomeVerdict, Result, Route
from routing.paths.no_route.answer import NoRoute
from routing.paths.no_route.shortfall import Shortfall, shortfalls
from routing.paths.request import Request
from routing.paths.route import RouteOptions
from routing.paths.tethers.kit import Outfitting
from routing.paths.worksite_routes import worksite_routes, worksite_starts
from structures.files.tables import table_text
from structures.findings import Finding

__all__ = [
    "ChainStay",
    "SafetyChain",
    "chain_csv",
    "safety_chains",
]


_HOME_CODES: Final = {"home-not-known": "not known", "home-too-late": "too late"}
"""Findings that speak of the time home and not of the way."""


class ChainStay(Result):
    """One stay of a chain: the tether hooked there and how much of it is used."""

    tether_point: str
    length_m: float
    used_m: float
    """Most line out, with its end stowed at the next tether point if it is let go there."""
    reserve_m: float
    margin_m: float
    """Length less line used less reserve."""
    tightest_grip: str
    """Where most line is out."""


class SafetyChain(Result):
    """How one worksite is reached from the airlock with one kit, or why it is not."""

    kit: str
    worksite: str
    way: Literal["safe", "unsafe", "no route"]
    start: str
    """The hatch."""
    seconds: float | None = None
    transfers: int | None = None
    stays: tuple[ChainStay, ...] = ()
    """In the order they are hooked on; leapfrog has none."""
    margin_m: float | None = None
    """The least of the stays."""
    reason: str | None = None
    """Why there is no safe way."""
    shortfall: Shortfall | None = None
    """By how much it fails, where there is no way."""
    home: HomeVerdict = "not checked"
    """Whether from every hold of the way home is near enough by time, all tethers recovered."""
    home_s: float | None = None
    """The longest time home from a hold of the way [s]."""
    home_reason: str | None = None
    """Why it is not in time."""

    @property
    def tightest(self) -> ChainStay | None:
        """The stay with the least margin, the first of equals."""
        return min(self.stays, key=lambda stay: stay.margin_m, default=None)


Told = Callable[[str], AbstractContextManager[None]]
"""Says that long work of a name goes on while it is entered."""


def safety_chains(
    graph: ReachGraph,
    outfitting: Outfitting,
    *,
    start: str | None = None,
    home: bool = False,
    told: Told = lambda _: nullcontext(),
) -> tuple[SafetyChain, ...]:
    """Return the chain to every worksite, in order of their ids.

    Parameters
    ----------
    start
        Where every chain begins; by default any hatch, as in `worksite_routes`.
    home
        Whether to work out the time home from every hold of each way too.
    told
        Entered round long work, with what it is.

    Notes
    -----
    One search from each start answers all worksites; reasons for those that
    are not reached are looked for together (`routing.paths.no_route.shortfall`).
    """
    name = outfitting.name
    options = RouteOptions(
        kit=outfitting.kit, explain=False, homeward="recovered" if home else None
    )
    with told(f"searching from the hatch with {name}"):
        answers = worksite_routes(graph, protocol=outfitting.protocol, start=start, options=options)
    missing = [one for one, answer in answers.items() if isinstance(answer, NoRoute)]
    with told(f"looking for what stops {name} at {len(missing)} worksites"):
        why = _shortfalls(graph, outfitting, worksite_starts(graph, start), missing)
    return tuple(
        _chain(outfitting, worksite, answer, why.get(worksite))
        for worksite, answer in answers.items()
    )


def _shortfalls(
    graph: ReachGraph, outfitting: Outfitting, starts: Sequence[str], missing: Sequence[str]
) -> dict[str, tuple[str, Shortfall]]:
    """Return the start that comes nearest to reaching each worksite, and what fails from it."""
    best: dict[str, tuple[str, Shortfall]] = {}
    if not missing:
        return best
    places = [site_grips(graph, one) for one in missing]
    for start in starts:
        request = Request(start=start, goal=start, protocol=outfitting.protocol, kit=outfitting.kit)
        found = shortfalls(graph, request, site_grips(graph, start), places)
        for worksite, one in found.items():
            if worksite not in best or _nearness(one) < _nearness(best[worksite][1]):
                best[worksite] = (start, one)
    return best


_NEARNESS: Final = (
    "hooks",
    "too little line",
    "line may not lie",
    "no hook at the start",
    "hands",
    "no grip",
)


def _nearness(one: Shortfall) -> tuple[int, float]:
    """Order shortfalls: what is missing least comes first."""
    return (_NEARNESS.index(one.why), one.line_short_m or 0.0)


def _chain(
    outfitting: Outfitting,
    worksite: str,
    answer: Route | NoRoute,
    why: tuple[str, Shortfall] | None,
) -> SafetyChain:
    if isinstance(answer, NoRoute):
        start, one = (answer.start.id, None) if why is None else why
        return SafetyChain(
            kit=outfitting.name,
            worksite=worksite,
            way="no route",
            start=start,
            reason=answer.message if one is None else one.message,
            shortfall=one,
        )
    reserve_m = 0.0 if answer.margins.line is None else answer.margins.line.reserve_m
    stays = tuple(
        ChainStay(
            tether_point=stay.tether_point,
            length_m=stay.length_m,
            used_m=stay.most_payout_m,
            reserve_m=reserve_m,
            margin_m=stay.least_left_m - reserve_m,
            tightest_grip=stay.worst_grip,
        )
        for stay in answer.stays
    )
    blocks = [finding for finding in answer.findings if finding.severity == "blocks"]
    stops = [finding.message for finding in blocks if finding.code not in _HOME_CODES]
    return SafetyChain(
        kit=outfitting.name,
        worksite=worksite,
        way="unsafe" if stops else "safe",
        start=answer.start.id,
        seconds=answer.totals.seconds,
        transfers=answer.totals.transfers,
        stays=stays,
        margin_m=min((stay.margin_m for stay in stays), default=None),
        reason="; ".join(stops) or None,
        **_home(answer, [finding for finding in blocks if finding.code in _HOME_CODES]),
    )


def _home(answer: Route, late: Sequence[Finding]) -> dict[str, Any]:
    """Return the verdict on the time home; it is in time only if it was worked out."""
    if late:
        worst = min(late, key=lambda finding: list(_HOME_CODES).index(finding.code))
        return {
            "home": _HOME_CODES[worst.code],
            "home_s": None if answer.homeward is None else answer.homeward.worst_s,
            "home_reason": "; ".join(finding.message for finding in late),
        }
    if answer.homeward is None or answer.homeward.worst_s is None:
        return {}
    return {"home": "in time", "home_s": answer.homeward.worst_s}


_COLUMNS: Final = (
    "kit",
    "worksite",
    "way",
    "start",
    "seconds",
    "transfers",
    "chain_margin_m",
    "stay",
    *ChainStay.field_names(),
    "line_short_m",
    "runs_out_at",
    "hook_short_m",
    "hook_at",
    "more_reels",
    "reason",
)

_SHORT: Final = ("line_short_m", "runs_out_at", "hook_short_m", "hook_at", "more_reels")


def chain_csv(chains: Iterable[SafetyChain]) -> str:
    """Return chains as CSV text, a row a stay; a chain without stays has one row."""
    rows = [row for chain in chains for row in _rows(chain)]
    return table_text(_COLUMNS, [[row.get(column) for column in _COLUMNS] for row in rows])


def _rows(chain: SafetyChain) -> list[Mapping[str, str | float | int | None]]:
    head: dict[str, str | float | int | None] = {
        "kit": chain.kit,
        "worksite": chain.worksite,
        "way": chain.way,
        "start": chain.start,
        "seconds": chain.seconds,
        "transfers": chain.transfers,
        "chain_margin_m": chain.margin_m,
        "reason": chain.reason,
    }
    if chain.shortfall is not None:
        short = chain.shortfall.to_row()
        head |= {name: short[name] for name in _SHORT}
    if not chain.stays:
        return [head]
    return [
        {**head, "stay": number, **stay.to_row()}
        for number, stay in enumerate(chain.stays, start=1)
    ]
