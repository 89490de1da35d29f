"""What a new revision of a structure changes about the answers for its worksites."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
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
    "CHANGES",
    "AnswerChange",
    "AnswerState",
    "Answers",
    "Change",
    "Question",
    "Worth",
    "compare_answers",
    "is_bad",
    "questions_of",
    "worksite_answers",
]

Question: TypeAlias = Literal["route on leapfrog", "route on reels", "equipment tethers"]
Change: TypeAlias = Literal[
    "lost", "turned unsafe", "new and not safe", "worse", "other way", "better", "gained", "new"
]
Worth: TypeAlias = Literal["good", "unsafe", "none"]

CHANGES: Final[tuple[Change, ...]] = (
    "lost",
    "turned unsafe",
    "new and not safe",
    "worse",
    "other way",
    "better",
    "gained",
    "new",
)
"""From worst to best."""

_QUESTIONS: Final[tuple[Question, ...]] = (
    "route on leapfrog",
    "route on reels",
    "equipment tethers",
)
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
    tether_margin_m: float | None = None
    way: tuple[str, ...] = ()
    """The handrails and other elements of the route in order, or what the chain is tied to."""

    @property
    def worth(self) -> Worth:
        """Whether it can be acted on, and if not whether there is an answer at all."""
        if self.verdict in {"answered and safe", "ok", "nothing to tie"}:
            return "good"
        return "none" if self.verdict in {"no route", "no chain"} else "unsafe"


class AnswerChange(Result):
    """One answer that is not what it was."""

    worksite: str
    question: Question
    change: Change
    seconds_more: float | None = None
    """Seconds of the new answer less those of the old; where either has none it is left out."""
    transfers_more: int | None = None
    says: str
    """What is different, in words."""
    old: AnswerState | None = None
    """Left out where the old revision has no such worksite."""
    new: AnswerState | None = None


@dataclass(frozen=True, slots=True)
class _Measure:
    """A number that answers are compared by: its words, unit, and whether less is better."""

    name: str
    words: str
    unit: str
    less_is_better: bool
    within: float = 1e-9
    """Values (or shares of them) no farther apart than this are the same: rounding."""


_MEASURES: Final = (
    _Measure("seconds", "time", "s", less_is_better=True),
    _Measure("transfers", "transfers", "", less_is_better=True),
    _Measure("exposure_s", "time in slow-down zones", "s", less_is_better=True),
    _Measure("tethers", "tethers in series", "", less_is_better=True),
    _Measure("line_left_m", "line left", "m", less_is_better=False),
    # Clearances are bounds that are certain to a millimetre.
    _Measure("clearance_m", "clearance", "m", less_is_better=False, within=1e-3),
    _Measure("reach_left_m", "reach left", "m", less_is_better=False),
    _Measure("turn_left_deg", "turn left", "deg", less_is_better=False),
    _Measure("tether_margin_m", "margin of the chain", "m", less_is_better=False),
)


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
    options = RouteOptions(kit=kit, explain=False)
    routes = worksite_routes(graph, protocol=protocol, options=options)
    return {worksite: _route_state(route) for worksite, route in routes.items()}


def compare_answers(old: Answers, new: Answers) -> tuple[AnswerChange, ...]:
    """Return the answers that changed, the worst first.

    Parameters
    ----------
    old, new
        From `worksite_answers`, for the same protocols.

    Returns
    -------
    tuple of AnswerChange
        By `CHANGES`; then most seconds more, most transfers more, worksite and
        question. An answer whose worksite is gone is lost. One that is worse in
        one measure and better in another counts as worse.
    """
    changes = (_compare(key, old.get(key), new.get(key)) for key in sorted({*old, *new}))
    return tuple(sorted((change for change in changes if change is not None), key=_rank))


def is_bad(changes: Iterable[AnswerChange]) -> bool:
    """Tell whether an answer was lost or turned unsafe."""
    return any(change.change in {"lost", "turned unsafe"} for change in changes)


def _rank(change: AnswerChange) -> tuple[int, float, int, str, int]:
    return (
        CHANGES.index(change.change),
        -(change.seconds_more or 0.0),
        -(change.transfers_more or 0),
        change.worksite,
        _QUESTIONS.index(change.question),
    )


def _route_state(route: Route | NoRoute) -> AnswerState:
    if isinstance(route, NoRoute):
        return AnswerState(verdict="no route", reason=route.message, start=route.start.id)
    stops = "; ".join(one.message for one in route.findings if one.severity == "blocks")
    margins = route.margins
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


def _compare(
    key: tuple[str, Question], old: AnswerState | None, new: AnswerState | None
) -> AnswerChange | None:
    change, says = _judged(old, new)
    if change is None:
        return None
    transfers_more = _more(old, new, lambda state: state.transfers)
    return AnswerChange(
        worksite=key[0],
        question=key[1],
        change=change,
        seconds_more=_more(old, new, lambda state: state.seconds),
        transfers_more=None if transfers_more is None else int(transfers_more),
        says=says,
        old=old,
        new=new,
    )


def _judged(old: AnswerState | None, new: AnswerState | None) -> tuple[Change | None, str]:
    if new is None:
        # Somebody may have planned on it, so that it is gone is never good news.
        return "lost", "the worksite is no longer there"
    if old is None:
        change: Change = "new" if new.worth == "good" else "new and not safe"
        return change, f"new worksite: {_verdict(new)}"
    if old.worth == new.worth:
        return _measured(old, new)
    return _WORTHS[old.worth, new.worth], f"was {old.verdict}, now {_verdict(new)}"


_WORTHS: Final[dict[tuple[Worth, Worth], Change]] = {
    ("good", "unsafe"): "turned unsafe",
    ("good", "none"): "lost",
    ("unsafe", "none"): "lost",
    ("unsafe", "good"): "gained",
    ("none", "good"): "gained",
    # Something to mend, where there was nothing at all; still nothing to act on.
    ("none", "unsafe"): "better",
}


def _measured(old: AnswerState, new: AnswerState) -> tuple[Change | None, str]:
    worse: list[str] = []
    better: list[str] = []
    for measure in _MEASURES:
        before, after = getattr(old, measure.name), getattr(new, measure.name)
        if before is None or after is None or _same(before, after, measure.within):
            continue
        unit = f" {measure.unit}" if measure.unit else ""
        digits = 0 if isinstance(after, int) else 1 if measure.unit == "s" else 3
        more = after - before
        says = f"{measure.words} {before:.{digits}f} -> {after:.{digits}f}{unit}"
        says += f" ({more:+.{digits}f})"
        (better if (more < 0) == measure.less_is_better else worse).append(says)
    says = "; ".join([*worse, *better])
    if worse:
        return "worse", says
    if old.verdict != new.verdict:
        return "other way", f"was {old.verdict}, now {new.verdict}"
    if old.way != new.way or old.start != new.start:
        by = f"by {', '.join(_new_ones(old.way, new.way)) or 'the same elements in another order'}"
        return ("better" if better else "other way"), "; ".join([*better, by])
    if better:
        return "better", says
    return None, ""


def _new_ones(old: tuple[str, ...], new: tuple[str, ...]) -> list[str]:
    return [one for one in dict.fromkeys(new) if one not in old]


def _same(a: float, b: float, within: float = 1e-9) -> bool:
    return abs(a - b) <= within * max(1.0, abs(a), abs(b))


def _verdict(state: AnswerState) -> str:
    return f"{state.verdict}: {state.reason}" if state.reason else state.verdict


_Number = Callable[[AnswerState], "float | None"]


def _more(old: AnswerState | None, new: AnswerState | None, number: _Number) -> float | None:
    """Return the new value less the old, and exactly 0 where they differ by rounding only."""
    if old is None or new is None:
        return None
    before, after = number(old), number(new)
    if before is None or after is None:
        return None
    return type(after)(0) if _same(before, after) else after - before
