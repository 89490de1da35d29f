"""What there is to choose from, as text for people."""

from collections.abc import Iterator
from typing import Final

from routing.cli.output import print_lines
from routing.cli.route_text import what_if_lines
from routing.cli.tables import Column, print_table
from routing.paths.answers.results import HOME_NOT_LOOKED_AT, Route
from routing.paths.choices.records import AlternativeRoute, Choices, FallbackRoute
from structures.counting import counted

__all__ = ["print_choices"]

_PICKS: Final = {
    "quickest": "quickest",
    "fewest_transfers": "fewest transfers",
    "least_exposure": "least exposure",
    "balanced": "balanced",
}

_NOT_KNOWN: Final = (
    "it is not known whether there are {}; ask for the legs one by one, or with fewer via sites."
)

_COLUMNS: Final = (
    Column("route", number=True),
    Column("seconds", number=True),
    Column("transfers", number=True),
    Column("exposed s", number=True),
    Column("way m", number=True),
    Column("verdict"),
)


def print_choices(answer: Choices) -> None:
    """Print verdict, trade-offs, alternatives and fallback, and what each route holds."""
    print_lines(_verdict(answer), *_stops(answer), "")
    print_lines(
        "Trade-offs; none of them is beaten in seconds, transfers and exposure together:"
        if answer.complete
        else "Quickest, fewest transfers, least exposure (over via sites on reels there may be "
        "others between them):"
    )
    print_table(
        (*_COLUMNS, Column("pick")),
        [(*_cells(answer, row.route), _picks(answer, n)) for n, row in enumerate(answer.tradeoffs)],
    )
    print_lines(
        "(balanced: nearest to the best of all three, each scaled from its best to its worst)", ""
    )
    print_lines(
        f"Alternatives with at most {answer.max_overlap:.0%} of the quickest one's metres on "
        "handrails and handholds on those used by one before:"
    )
    print_table(
        (*_COLUMNS, Column("overlap", number=True), Column("also used before")),
        [(*_cells(answer, row.route), *_overlap(row)) for row in answer.alternatives],
    )
    if "alternatives" in answer.not_known:
        print_lines(_NOT_KNOWN.format("others"))
    if "fallback" in answer.not_known:
        print_lines("", f"Fallback: {_NOT_KNOWN.format('one')}", "")
    else:
        print_lines("", *_fallback_lines(answer.fallback, answer), "")
    if answer.what_if is not None:
        print_lines(*what_if_lines(answer.what_if), "")
    print_lines("What the hands hold, in order:")
    print_lines(*(_rails(number, route) for number, route in enumerate(answer.routes, start=1)))


def _verdict(answer: Choices) -> str:
    bad = [str(number) for number, route in enumerate(answer.routes, start=1) if not route.safe]
    if not bad:
        return (
            f"Answered and safe within the limits given: {counted(len(answer.routes), 'route')}; "
            f"{HOME_NOT_LOOKED_AT} (`gripway route` with --homeward does)."
        )
    return f"UNSAFE: do not use route {', '.join(bad)}; each line with STOP below says why."


def _cells(answer: Choices, route: int) -> tuple[str, ...]:
    found = answer.routes[route]
    return (
        str(route + 1),
        f"{found.totals.seconds:.0f}",
        str(found.totals.transfers),
        f"{found.totals.exposure_s:.0f}",
        f"{found.totals.distance_m:.2f}",
        "safe" if found.safe else "UNSAFE",
    )


def _picks(answer: Choices, number: int) -> str:
    named = answer.picks.to_document()
    return ", ".join(name for key, name in _PICKS.items() if named[key] == number)


def _overlap(row: AlternativeRoute) -> tuple[str, str]:
    gap = f" (another may be up to {row.unproven_s:.0f} s quicker)" if row.unproven_s else ""
    return f"{row.overlap:.0%}", ", ".join(row.shared) + gap


def _fallback_lines(fallback: FallbackRoute | None, answer: Choices) -> Iterator[str]:
    if fallback is None:
        yield "Fallback: none; every route holds all handrails that the quickest one holds."
        return
    found = answer.routes[fallback.route]
    verdict = "safe" if found.safe else "UNSAFE"
    told = f"Fallback: route {fallback.route + 1}, {found.totals.seconds:.0f} s, {verdict}, "
    if not fallback.shared:
        yield f"{told}shares no handrail with the quickest one."
        return
    yield f"{told}shares {', '.join(fallback.shared)} with the quickest one."
    if fallback.needed:
        yield f"  Every route between these sites holds {', '.join(fallback.needed)}."
    yield (
        "  No route shares fewer."
        if fallback.proven
        else "  It is not proven that no route shares fewer."
    )


def _rails(number: int, route: Route) -> str:
    return f"  {number}: {', '.join(part.id for part in route.handrails)}"


def _stops(answer: Choices) -> Iterator[str]:
    yield from (f"STOP: {finding.message}" for finding in answer.findings)
