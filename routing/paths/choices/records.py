"""What there is to choose from between two sites, as records."""

from typing import Literal

from routing.paths.answers.results import Answer, Result, Route, WhatIf

__all__ = ["AlternativeRoute", "Choices", "FallbackRoute", "Picks", "TradeOffRoute"]


class TradeOffRoute(Result):
    """A route that no other beats in all of seconds, transfers and exposure."""

    route: int
    """Index into the routes of the answer."""
    seconds: float
    transfers: int
    exposure_s: float


class Picks(Result):
    """The named ones among the trade-offs, as indices into them."""

    quickest: int
    fewest_transfers: int
    least_exposure: int
    balanced: int
    """Nearest to the best of everything at once, each scaled from its best to its worst."""


class AlternativeRoute(Result):
    """A route that differs from all before it in the list."""

    route: int
    shared_m: float
    """Metres of way on handrails and handholds that one before it uses."""
    overlap: float
    """``shared_m`` over the metres that the first one has on handrails and handholds."""
    shared: tuple[str, ...] = ()
    """Handrails and handholds that one before it uses too."""
    unproven_s: float = 0.0
    """By at most this much another route that differs as much may be quicker; 0 where proven."""


class FallbackRoute(Result):
    """The route that holds as few of the quickest one's handrails as can be."""

    route: int
    shared: tuple[str, ...] = ()
    """Handrails and handholds of the quickest route that it holds too; none is the aim."""
    needed: tuple[str, ...] = ()
    """Those among them that every route between these sites holds."""
    proven: bool
    """Whether fewer are certainly impossible, and no other route with so few is quicker."""


class Choices(Answer):
    """What there is to choose from between two sites."""

    answer: Literal["choices"] = "choices"
    verdict: Literal["answered and safe", "unsafe"]
    """*answered and safe* only when no route listed has a finding that blocks."""
    routes: tuple[Route, ...]
    """Every route that is listed below, each once, with its own verdict and findings."""
    tradeoffs: tuple[TradeOffRoute, ...]
    """In order of seconds."""
    complete: bool
    """Whether every route there is is matched or beaten by one of the trade-offs.

    Over via sites on reels they are the quickest route, the one with fewest transfers and the
    one with least exposure; there may be others between them.
    """
    picks: Picks
    max_overlap: float
    alternatives: tuple[AlternativeRoute, ...]
    """The quickest route first."""
    fallback: FallbackRoute | None = None
    """Left out where every route holds all that the quickest one holds, or where not known."""
    not_known: tuple[Literal["alternatives", "fallback"], ...] = ()
    """Lists that are not known: over via sites on reels a search ended too early."""
    what_if: WhatIf | None = None
    """What would save time on the quickest route, where it was asked for."""

    @property
    def safe(self) -> bool:
        """Whether no route listed has a finding that blocks."""
        return self.verdict == "answered and safe"
