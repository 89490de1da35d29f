"""Lines of two people that cross over the time of an outing, as findings.

Where the line under is, or may be, taken up before the line over it, that blocks:
it would have to be pulled out from beneath. A crossing that undoes itself, or that
comes about only if things run late, is for the planner to know.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from routing.outings.clock.activity_plan import ACTS_BEGIN
from routing.outings.clock.schedule import MINUTE_S, Schedule
from routing.outings.lines.crossings import LineCrossing, line_crossings
from routing.outings.lines.laid_lines import LaidLines, LaidPiece, laid_lines
from routing.outings.lines.records import LaidFor, LinesMeet
from routing.outings.lines.sure_order import SureOrder
from routing.outings.safety.moments import Moment
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground

__all__ = ["PairOfLines", "check_lines", "lines_meet", "pairs_of_lines"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PairOfLines:
    """Two people's lines over time, and where they cross."""

    first: LaidLines
    second: LaidLines
    crossings: tuple[LineCrossing, ...]

    def pieces(self, crossing: LineCrossing) -> tuple[LaidPiece, LaidPiece]:
        """Return the two pieces that a crossing is told of by."""
        i, j = crossing.decides
        return self.first.pieces[i], self.second.pieces[j]


def pairs_of_lines(
    schedule: Schedule, ground: Ground, moments: Mapping[str, Sequence[Moment]]
) -> tuple[PairOfLines, ...]:
    """Return every two people's lines over time; those under leapfrog lay none."""
    until_s = schedule.acts_end_s
    lines = [laid_lines(ground, person, found, until_s) for person, found in moments.items()]
    order = SureOrder(schedule)
    apart_m = ground.limits.line_apart_m
    return tuple(
        PairOfLines(
            first=first, second=second, crossings=line_crossings(first, second, order, apart_m)
        )
        for first, second in combinations([one for one in lines if one is not None], 2)
    )


def lines_meet(
    schedule: Schedule, ground: Ground, pairs: Sequence[PairOfLines]
) -> tuple[LinesMeet, ...]:
    """Return all crossings as records, by time."""
    found = [
        _meet(schedule, ground, pair, crossing) for pair in pairs for crossing in pair.crossings
    ]
    return tuple(sorted(found, key=lambda one: (one.start_s, one.end_s)))


def _meet(
    schedule: Schedule, ground: Ground, pair: PairOfLines, crossing: LineCrossing
) -> LinesMeet:
    whose = {"first": pair.first.person, "second": pair.second.person}
    one, other = pair.pieces(crossing)
    return LinesMeet(
        start_s=crossing.start_s,
        end_s=crossing.end_s,
        ends=crossing.undoing,
        over=whose.get(crossing.over),
        lines=(
            _laid_for(schedule, ground, pair.first.person, one),
            _laid_for(schedule, ground, pair.second.person, other),
        ),
        position_m=crossing.place_m,
        distance_m=crossing.distance_m,
    )


def _laid_for(schedule: Schedule, ground: Ground, person: str, piece: LaidPiece) -> LaidFor:
    kind, first, _ = piece.piece
    at = ground.tether_points[first].id if kind == "hook" else ground.grips(person).ids[first]
    return LaidFor(
        person=person,
        at=at,
        laid_for=_act_of(schedule, piece.laid_in),
        laid_s=piece.laid_s[1],
        taken_up_for=None if piece.taken_in is None else _act_of(schedule, piece.taken_in),
        taken_up_s=None if piece.taken_in is None else piece.taken_s[1],
    )


def _act_of(schedule: Schedule, activity: str) -> str | None:
    if activity == ACTS_BEGIN:
        return None
    act = schedule.plan.activities[activity].act
    return None if act is None else act.id


def check_lines(meet: Sequence[LinesMeet]) -> Iterator[OutingFinding]:
    """Yield a finding for each act that makes or may make a tangle, and one for all others.

    Those others are told of by pairs of people, apart for what undoes itself and
    what comes about only if things run late.
    """
    found: dict[tuple[str, ...], list[LinesMeet]] = {}
    for one in meet:
        people = tuple(line.person for line in one.lines)
        at = _acts_at(one) if one.ends in {"tangles", "may tangle"} else ()
        found.setdefault((one.ends, *people, *at), []).append(one)
    for (ends, *_), same in found.items():
        if ends == "undoes itself":
            yield _undone(same)
        elif ends == "may cross":
            yield _may_cross(same)
        else:
            yield _tangle(same)


def _acts_at(one: LinesMeet) -> tuple[str, str]:
    """Return the act to change, and who does it: taking up too early, or laying too early."""
    under, over = _sorted(one)
    if one.ends == "tangles" and under.taken_up_for is not None:
        return under.taken_up_for, under.person
    return over.laid_for or under.laid_for or "", over.person


def _sorted(one: LinesMeet) -> tuple[LaidFor, LaidFor]:
    """Return the line under and the line over; the one laid first is under if that is not known."""
    first, second = one.lines
    if one.over is None:
        early, late = sorted(one.lines, key=lambda line: line.laid_s)
        return early, late
    return (first, second) if one.over == second.person else (second, first)


def _tangle(found: Sequence[LinesMeet]) -> OutingFinding:
    """Tell of the first of the crossings that one act makes or may make into a tangle."""
    one = found[0]
    under, over = _sorted(one)
    act, person = _acts_at(one)
    lies = (
        f"the line of {over.person} from {over.at} ({_laid(over)}) lies over that of "
        f"{under.person} from {under.at} ({_laid(under)}) from {clock(one.start_s)} to "
        f"{clock(one.end_s)}"
    )
    if one.over is None:
        lies = (
            f"the lines of {under.person} from {under.at} ({_laid(under)}) and of {over.person} "
            f"from {over.at} ({_laid(over)}) cross from {clock(one.start_s)} to "
            f"{clock(one.end_s)}, and who lies over is not certain"
        )
    if one.ends == "tangles":
        follows = f"{_taken(under)}, {_taken(over)}: it must be pulled out from beneath"
        remedy = (
            f"let {over.person} take that line up first ({under.person} waits before {act}), or "
            "send one of them another way"
        )
    else:
        follows = (
            f"by the clock {_taken(over)} and {_taken(under)}, but nothing in the order of acts "
            "makes certain that the line over is laid last and taken up first, so it may have to "
            "be pulled out from beneath"
        )
        remedy = (
            "let one of them wait for the other (a wait with after), or send one of them another "
            "way"
        )
    more = f"; so in {_places(found[1:])} more" if len(found) > 1 else ""
    return OutingFinding(
        code="lines-tangle" if one.ends == "tangles" else "lines-may-tangle",
        severity="blocks",
        act=act or None,
        person=person,
        at_s=under.taken_up_s if one.ends == "tangles" else one.start_s,
        elements=tuple(dict.fromkeys(line.at for each in found for line in _sorted(each))),
        message=f"{lies}; {follows}{more}",
        remedy=remedy,
        value=min(each.distance_m for each in found),
        unit="m",
    )


def _laid(line: LaidFor) -> str:
    if line.laid_for is None:
        return "from the start on"
    return f"laid for {line.laid_for} at {clock(line.laid_s)}"


def _taken(line: LaidFor) -> str:
    if line.taken_up_s is None:
        return f"{line.person} leaves it outside"
    return f"{line.person} takes it up for {line.taken_up_for} at {clock(line.taken_up_s)}"


def _undone(found: Sequence[LinesMeet]) -> OutingFinding:
    first = found[0]
    under, over = _sorted(first)
    where = "; ".join(
        f"{over.person} over {under.person} near {over.at} from {clock(start_s)} to {clock(end_s)}"
        for start_s, end_s, under, over in _joined(found)
    )
    return OutingFinding(
        code="lines-cross",
        severity="warns",
        act=over.laid_for,
        person=over.person,
        at_s=first.start_s,
        elements=tuple(sorted({line.at for one in found for line in one.lines})),
        message=f"the lines of {under.person} and {over.person} cross, the one laid later over the "
        f"other: {where}; whoever lies over takes it up first, so it undoes itself",
        remedy="keep that order on the day, or send one of them another way",
        value=min(one.distance_m for one in found),
        unit="m",
    )


def _joined(found: Sequence[LinesMeet]) -> list[tuple[float, float, LaidFor, LaidFor]]:
    """Return (start, end, under, over), those alike and at one time as one."""
    spans: list[tuple[float, float, LaidFor, LaidFor]] = []
    for one in sorted(found, key=lambda each: each.start_s):
        under, over = _sorted(one)
        same = [
            i
            for i, (_, end_s, _, before) in enumerate(spans)
            if before.person == over.person and end_s >= one.start_s
        ]
        if same:
            start_s, end_s, below, above = spans[same[-1]]
            spans[same[-1]] = (start_s, max(end_s, one.end_s), below, above)
        else:
            spans.append((one.start_s, one.end_s, under, over))
    return spans


def _may_cross(found: Sequence[LinesMeet]) -> OutingFinding:
    first = found[0]
    tightest = min(found, key=lambda one: one.end_s - one.start_s)
    early, late = sorted(tightest.lines, key=lambda line: line.laid_s)
    less_min = (tightest.end_s - tightest.start_s) / MINUTE_S
    return OutingFinding(
        code="lines-may-cross",
        severity="warns",
        act=late.laid_for,
        person=late.person,
        at_s=first.start_s,
        elements=tuple(sorted({line.at for one in found for line in one.lines})),
        message=f"the lines of {early.person} and {late.person} keep out of each other's way by "
        f"the clock alone, not by the order of acts, in {_places(found)}; the least time "
        f"between is {less_min:.1f} min, near {late.at}: {_taken(early)}, {late.person} lays there "
        f"for {late.laid_for} at {clock(late.laid_s)}",
        remedy=f"let {late.person} wait for {early.person} there (a wait with after), or watch it "
        "on the day",
        value=less_min,
        unit="min",
    )


def _places(found: Sequence[LinesMeet]) -> str:
    return "one place" if len(found) == 1 else f"{len(found)} places"
