"""All pairs of sites, in words: the worst first."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from routing.cli.cases import cases_text
from routing.cli.output import print_caution, print_data, print_lines, print_situation, written
from routing.cli.pairs_answer import OneWayMore, PairRow, PairsAnswer
from routing.cli.question import Question
from routing.cli.tables import Column, print_table
from routing.paths.answers.results import HOME_NOT_LOOKED_AT
from routing.paths.tethers.kit import kit_text
from routing.studies.pairs.case import NO_REEL_BEGINS
from routing.studies.pairs.study import PairsAsked
from structures.counting import counted

__all__ = ["one_way_more", "print_pairs"]

_SHOWN: Final = 20
"""Rows shown of each table; all are in --rows and --json."""

_MARK: Final = "\0"
"""Stands for a site's id in a reason; no text from a file has it."""

_TRIP_COLUMNS: Final = (
    Column("from", keep=10),
    Column("to", keep=10),
    Column("protocol"),
    Column("who", keep=16),
    Column("way"),
    Column("s", number=True),
    Column("transfers", number=True),
    Column("exposed s", number=True),
    Column("reach left m", number=True),
    Column("room m", number=True),
    Column("line left m", number=True),
    Column("why", keep=40),
)
_MORE_COLUMNS: Final = (
    Column("from", keep=10),
    Column("to", keep=10),
    Column("protocol"),
    Column("who", keep=16),
    Column("s", number=True),
    Column("back s", number=True),
    Column("more s", number=True),
)


def one_way_more(trips: Sequence[PairRow], tolerance_s: float) -> tuple[OneWayMore, ...]:
    """Return pairs whose two ways differ by more than a tolerance, the most unlike first.

    A pair that goes one way only is the most unlike of all.
    """
    seconds = {_key(trip, trip.start.id, trip.goal.id): trip.seconds for trip in trips}
    found = []
    for trip in trips:
        back_s = seconds.get(_key(trip, trip.goal.id, trip.start.id))
        if back_s is None:
            continue
        if trip.seconds is None or trip.seconds - back_s > tolerance_s:
            found.append(
                OneWayMore(
                    person=trip.person,
                    carry=trip.carry,
                    protocol=trip.protocol,
                    start=trip.start,
                    goal=trip.goal,
                    seconds=trip.seconds,
                    back_s=back_s,
                )
            )
    return tuple(sorted(found, key=_unlike))


def _key(trip: PairRow, start: str, goal: str) -> tuple[str | None, str | None, str, str, str]:
    return (trip.person, trip.carry, trip.protocol, start, goal)


def _unlike(one: OneWayMore) -> tuple[float, str, str]:
    more_s = float("inf") if one.seconds is None else one.seconds - one.back_s
    # Rounding must not tell apart what takes as much longer.
    return (-round(more_s, 6), one.start.id, one.goal.id)


def print_pairs(
    question: Question, asked: PairsAsked, answer: PairsAnswer, rows: Path | None
) -> None:
    """Print what was asked, the verdict, the worst trips and the most unlike ways."""
    print_data(question)
    print_situation(replace(question, protocol=None))
    asked_on = [
        f"reel ({kit_text(asked.kit.reels_m)})" if one == "reel" else one for one in asked.protocols
    ]
    print_lines(
        f"{counted(len(asked.sites), 'site')}, on {' and on '.join(asked_on)}",
        f"Who: {cases_text(asked.situations)}",
        _verdict(answer),
        "",
    )
    _print_reasons(answer)
    worst = sorted((trip for trip in answer.trips if trip.seconds is not None), key=_badness)
    shown = worst[:_SHOWN]
    print_lines(f"The worst {len(shown)} of {len(worst)} trips that have a way:", "")
    print_table(_TRIP_COLUMNS, [_trip_cells(trip) for trip in shown])
    _print_unlike(answer)
    if rows is not None:
        print_lines("", written("every trip", rows))
    else:
        print_lines("", "All trips: --rows FILE or --json")
    print_caution()


def _print_reasons(answer: PairsAnswer) -> None:
    """Print why there are trips without a way, each reason once, however many sites it is about.

    Starts without a line to hold on to are set apart: that says nothing against the way.
    """
    reasons: dict[tuple[str, str, str], Counter[str]] = {}
    for trip in answer.trips:
        if trip.way == "no way":
            site, why = _about(trip)
            reasons.setdefault((trip.protocol, _who(trip), why), Counter())[site] += 1
    if not reasons:
        return
    ranked = sorted(reasons.items(), key=lambda one: (-one[1].total(), one[0]))
    apart = [one for one in ranked if one[0][2].startswith(NO_REEL_BEGINS)]
    other = [one for one in ranked if one not in apart]
    if other:
        print_lines("No way, by reason:")
        _print_ranked(other)
    if apart:
        print_lines(
            "No reel can begin there (each trip is asked by itself, with no line out yet; whoever "
            "came there on a reel still has that line, which is not looked at here):"
        )
        _print_ranked(apart)


def _print_ranked(ranked: Sequence[tuple[tuple[str, str, str], Counter[str]]]) -> None:
    for (protocol, who, why), sites in ranked[:_SHOWN]:
        on = f"{protocol}, {who}" if who else protocol
        said = why.replace(_MARK, ", ".join(sorted(sites)))
        print_lines(f"  {counted(sites.total(), 'trip')} on {on}: {said}")
    if len(ranked) > _SHOWN:
        print_lines(f"  and {counted(len(ranked) - _SHOWN, 'more reason')}")
    print_lines("")


def _about(trip: PairRow) -> tuple[str, str]:
    """Return which end of a trip a reason is about, and the reason with a mark for it."""
    why = trip.why or ""
    for site in (trip.start.id, trip.goal.id):
        before, found, after = why.rpartition(f" {site}")
        if found and not after:
            return site, f"{before} {_MARK}"
    return "", why


def _verdict(answer: PairsAnswer) -> str:
    ways = [trip.way for trip in answer.trips]
    total = len(ways)
    if answer.safe:
        return (
            f"Answered and safe within the limits given: {counted(total, 'trip')}; "
            f"{HOME_NOT_LOOKED_AT} (`gripway home` does)."
        )
    words = (("no way", f"WITHOUT A WAY{_dead_ends(answer)}"), ("unsafe", "UNSAFE"))
    bad = [f"{ways.count(word)} {said}" for word, said in words if word in ways]
    return f"{', '.join(bad)}, {ways.count('safe')} safe, of {counted(total, 'trip')}."


def _dead_ends(answer: PairsAnswer) -> str:
    """Return how many trips have no way because none at all begins or ends at a site of theirs."""
    sites: set[str] = set()
    trips: set[int] = set()
    for end in ("start", "goal"):
        at: dict[tuple[str, str, str], list[int]] = {}
        for i, trip in enumerate(answer.trips):
            at.setdefault((trip.protocol, _who(trip), getattr(trip, end).id), []).append(i)
        known = frozenset(trips)  # a start that is none says nothing against where it leads
        for (_, _, site), numbers in at.items():
            left = [i for i in numbers if i not in known]
            if left and all(answer.trips[i].way == "no way" for i in left):
                sites.add(site)
                trips.update(left)
    if not trips:
        return ""
    without = sum(trip.way == "no way" for trip in answer.trips)
    share = "all" if len(trips) == without else str(len(trips))
    apart = sum((trip.why or "").startswith(NO_REEL_BEGINS) for trip in answer.trips)
    below = f"; {apart} where no reel can begin, see below" if apart else ""
    return (
        f" ({share} because no trip at all can begin or end at {counted(len(sites), 'site')}"
        f"{below})"
    )


def _print_unlike(answer: PairsAnswer) -> None:
    more = [one for one in answer.one_way_more if one.seconds is not None]
    only = len(answer.one_way_more) - len(more)
    print_lines("")
    if only:
        print_lines(f"A way in one direction only: {counted(only, 'pair')}{_no_reel(answer)}.")
    if not more:
        print_lines(f"All others take the same both ways, within {answer.tolerance_s:g} s.")
        return
    shown = more[:_SHOWN]
    print_lines(
        f"Longer one way than back by more than {answer.tolerance_s:g} s "
        f"({len(shown)} of {len(more)}):",
        "",
    )
    print_table(_MORE_COLUMNS, [_more_cells(one) for one in shown])


def _no_reel(answer: PairsAnswer) -> str:
    """Return how many pairs go one way only because a reel cannot begin at one end."""
    begun = {
        _key(trip, trip.start.id, trip.goal.id)
        for trip in answer.trips
        if not (trip.why or "").startswith(NO_REEL_BEGINS)
    }
    ways = [
        (one.person, one.carry, one.protocol, one.start.id, one.goal.id)
        for one in answer.one_way_more
        if one.seconds is None
    ]
    apart = sum(way not in begun for way in ways)
    share = "all of them" if apart == len(ways) else str(apart)
    return f", {share} because no reel can begin at one end" if apart else ""


_WAYS: Final = ("no way", "unsafe", "safe")


def _badness(trip: PairRow) -> tuple[int, float, str, str]:
    return (_WAYS.index(trip.way), -(trip.seconds or 0.0), trip.start.id, trip.goal.id)


def _who(one: PairRow | OneWayMore) -> str:
    parts = [one.person or "", f"with {one.carry}" if one.carry else ""]
    return " ".join(part for part in parts if part)


def _trip_cells(trip: PairRow) -> tuple[str, ...]:
    return (
        trip.start.id,
        trip.goal.id,
        trip.protocol,
        _who(trip),
        trip.way,
        _number(trip.seconds, 0),
        "" if trip.transfers is None else str(trip.transfers),
        _number(trip.exposure_s, 0),
        _number(trip.reach_left_m, 3),
        _number(trip.clearance_m, 3),
        _number(trip.line_left_m, 2),
        trip.why or "",
    )


def _more_cells(one: OneWayMore) -> tuple[str, ...]:
    return (
        one.start.id,
        one.goal.id,
        one.protocol,
        _who(one),
        _number(one.seconds, 0),
        _number(one.back_s, 0),
        _number(None if one.seconds is None else one.seconds - one.back_s, 0),
    )


def _number(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"
