"""The answers for the worksites of one revision of a structure, as far as they are compared."""

from collections.abc import Mapping, Sequence
from typing import Final, Literal, TypeAlias

from routing.graph.parts import reached_elements
from routing.graph.reach_graph import ReachGraph
from routing.paths.answers.results import Protocol, Result, Route
from routing.paths.no_route.answer import NoRoute
from routing.paths.route import RouteOptions
from routing.paths.tethers.kit import Kit
from routing.paths.worksite_routes import worksite_routes
from routing.worksites.ties.chains import find_chains
from routing.worksites.ties.records import WorksiteChain

__all__ = [
    "QUESTIONS",
    "AnswerState",
    "Answers",
    "Question",
    "Worth",
    "questions_of",
    "worksite_answers",
]

Question: TypeAlias = Literal["route on leapfrog", "route on reels", "equipment tethers"]
Worth: TypeAlias = Literal["good", "unsafe", "none"]

QUESTIONS: Final[tuple[Question, ...]] = (
    "route on leapfrog",
    "route on reels",
    "equipment tethers",
)
"""In the order in which answers of one worksite stand."""
_OF_PROTOCOL: Final[dict[Protocol, Question]] = {
    "leapfrog": "route on leapfrog",
    "reel": "route on reels",
}


class AnswerState(Result):
    """One answer in one revision, as far as revisions are compared by it."""

    verdict: str
    reason: str | None = None
    start: str | None = None
    """The hatch that the route begins at."""
    seconds: float | None = None
    transfers: int | None = None
    exposure_s: float | None = None
    tethers: int | None = None
    """Equipment tethers in series."""
    reach_left_m: float | None = None
    turn_left_deg: float | None = None
    clearance_m: float | None = None
    line_left_m: float | None = None
    """Least line left on a reel, the reserve included."""
    home_s: float | None = None
    """The longest time home from a hold of the route, with every tether recovered."""
    tether_margin_m: float | None = None
    way: tuple[str, ...] = ()
    """The handrails and other elements of the route in order, or what the chain is tied to."""

    @property
    def worth(self) -> Worth:
        """Whether it can be acted on, and if not whether there is an answer at all."""
        if self.verdict in {"answered and safe", "ok", "nothing to tie"}:
            return "good"
        return "none" if self.verdict in {"no route", "no chain"} else "unsafe"


Answers: TypeAlias = Mapping[tuple[str, Question], AnswerState]
"""By worksite and question."""


def questions_of(protocols: Sequence[Protocol]) -> tuple[Question, ...]:
    """Return what is asked of each worksite: a route on each protocol, and the equipment tethers.

    Examples
    --------
    >>> questions_of(["reel"])
    ('route on reels', 'equipment tethers')
    """
    return (*(_OF_PROTOCOL[protocol] for protocol in protocols), "equipment tethers")


def worksite_answers(
    graph: ReachGraph, question: Question, *, kit: Kit | None = None
) -> dict[str, AnswerState]:
    """Return the answers to one question for the worksites of a structure, by id.

    Parameters
    ----------
    graph
        Its situation says who moves under which limits.
    question
        What is asked.
    kit
        Reels that the person has, by default two of the limits' length.

    Raises
    ------
    NoHatchError
        A route is asked for and the structure has no hatch.
    """
    if question == "equipment tethers":
        reached = reached_elements(graph)
        chains = find_chains(graph.structure, graph.situation, reached=reached)
        return {chain.worksite: _chain_state(chain) for chain in chains}
    protocol = next(one for one, asked in _OF_PROTOCOL.items() if asked == question)
    options = RouteOptions(kit=kit, explain=False, homeward="recovered")
    routes = worksite_routes(graph, protocol=protocol, options=options)
    return {worksite: _route_state(route) for worksite, route in routes.items()}


def _route_state(route: Route | NoRoute) -> AnswerState:
    if isinstance(route, NoRoute):
        return AnswerState(verdict="no route", reason=route.message, start=route.start.id)
    stops = "; ".join(one.message for one in route.findings if one.severity == "blocks")
    margins, home = route.margins, route.homeward
    return AnswerState(
        verdict=route.verdict,
        reason=stops or None,
        start=route.start.id,
        seconds=route.totals.seconds,
        transfers=route.totals.transfers,
        exposure_s=route.totals.exposure_s,
        reach_left_m=None if margins.gap is None else margins.gap.left_m,
        turn_left_deg=None if margins.turn is None else margins.turn.left_deg,
        clearance_m=None if margins.clearance is None else margins.clearance.clearance_m,
        line_left_m=None if margins.line is None else margins.line.least_left_m,
        home_s=None if home is None else home.worst_s,
        way=tuple(stretch.id for stretch in route.handrails),
    )


def _chain_state(chain: WorksiteChain) -> AnswerState:
    worst = chain.deciding
    if worst is None:
        return AnswerState(verdict=chain.verdict)
    return AnswerState(
        verdict=worst.verdict,
        reason=worst.reason,
        tethers=worst.tethers,
        tether_margin_m=worst.margin_m,
        way=() if worst.handrail is None else (worst.handrail,),
    )
