"""What a timeline chart shows: bars in lanes, marks on the axis and curves under it."""

import math
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from routing.limits import changed_texts
from routing.outings.plan_file.acts import OFF_STRUCTURE
from routing.outings.plan_file.records import Outing
from routing.outings.told.rescue_text import rescue_lines
from routing.outings.told.results import OutingAnswer, RunRow
from routing.outings.told.times_said import clock
from routing.outings.told.verdict import verdict_line
from routing.show.sheets.inputs import DrawingError
from routing.show.sheets.style import DEFAULT_STYLE
from routing.show.sheets.title_block import digests_text
from structures.counting import counted
from structures.versions import date_text, revision_text

__all__ = [
    "BAR_KINDS",
    "BarKind",
    "Timeline",
    "TimelineBar",
    "TimelineCurve",
    "TimelineMark",
    "timeline_of",
]

BarKind: TypeAlias = Literal["block", "act", "hold still", "way", "wait"]
BAR_KINDS: Final[tuple[BarKind, ...]] = ("block", "act", "hold still", "way", "wait")


@dataclass(frozen=True, slots=True, kw_only=True)
class TimelineBar:
    """Something that takes time, in one lane.

    Raises
    ------
    DrawingError
        A time is not finite, or it ends before it starts.
    """

    lane: str
    start_s: float
    end_s: float
    kind: BarKind
    text: str = ""
    """Written in the bar, or beside it where that is too short."""
    site: str = ""
    """Where it is done; written under the text where there is room."""
    critical: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.start_s) and math.isfinite(self.end_s)):
            raise DrawingError(f"{self.text!r} begins or ends at no finite time")
        if self.end_s < self.start_s:
            raise DrawingError(f"{self.text!r} ends at {self.end_s} s, before it begins")


@dataclass(frozen=True, slots=True, kw_only=True)
class TimelineMark:
    """A moment on the axis, for instance a gate that opens [s]."""

    at_s: float
    text: str
    critical: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TimelineCurve:
    """Time home of one person over the outing.

    Parameters
    ----------
    points
        (from when, alone, with the partner in tow), by time; None where no way leads home [s].
    until_s
        What comes later is not known [s].
    """

    lane: str
    points: tuple[tuple[float, float | None, float | None], ...]
    limit_s: float
    until_s: float

    @property
    def longest_s(self) -> float:
        """The longest time home that is known [s]."""
        known = (seconds for point in self.points for seconds in point[1:] if seconds is not None)
        return max(known, default=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """All that a timeline chart shows.

    Parameters
    ----------
    lanes
        Who has a lane, from top to bottom, as (id, name).
    bars, marks
        In any order.
    curves
        Times home, drawn under the lanes.
    fetching
        How partners are fetched home, a line each; written over the key.
    end_s
        End of the outing [s].
    ways_missing
        Ways that were not found: the end is without them, and so too early.
    planned_s
        Planned length; a line is drawn there [s].
    title, facts
        What the head says, a line each.
    warning
        Said in the head in bold where something blocks or is to be watched.
    """

    lanes: tuple[tuple[str, str], ...]
    bars: tuple[TimelineBar, ...]
    marks: tuple[TimelineMark, ...] = ()
    curves: tuple[TimelineCurve, ...] = ()
    fetching: tuple[str, ...] = ()
    end_s: float
    planned_s: float
    title: str
    facts: tuple[str, ...] = ()
    warning: str = ""
    ways_missing: int = 0

    def __post_init__(self) -> None:
        lanes = {one for one, _ in self.lanes}
        for bar in self.bars:
            if bar.lane not in lanes:
                raise DrawingError(f"{bar.text!r} is in lane {bar.lane!r}, which there is not")
        for curve in self.curves:
            if curve.lane not in lanes:
                raise DrawingError(f"time home of {curve.lane!r}, who has no lane")
        if not (math.isfinite(self.end_s) and self.end_s > 0):
            raise DrawingError(f"an outing that ends at {self.end_s} s has no timeline")


def timeline_of(outing: Outing, answer: OutingAnswer) -> Timeline:
    """Return the timeline of an outing that was worked out."""
    still = {act.id: act.still for act in outing.acts}
    waits = {act.id for act in outing.acts if act.does == "wait"}
    bars = [
        bar
        for row in answer.run_sheet
        for bar in _bars(row, still.get(row.act or "", ()), waits=row.act in waits)
    ]
    used = {bar.lane for bar in bars}
    people = tuple((person.id, person.name) for person in outing.people)
    return Timeline(
        lanes=(*people, *((one, "") for one in sorted(OFF_STRUCTURE) if one in used)),
        bars=tuple(bars),
        marks=tuple(
            TimelineMark(at_s=one.at_s, text=one.gate, critical=one.slack_s == 0.0)
            for one in answer.milestones
        ),
        curves=tuple(
            TimelineCurve(
                lane=one.person,
                points=tuple((point.at_s, point.home_s, point.tow_s) for point in one.points),
                limit_s=one.limit_s,
                until_s=one.known_until_s,
            )
            for one in answer.home
            if one.points
        ),
        fetching=rescue_lines(answer),
        end_s=answer.totals.total_s,
        planned_s=answer.totals.planned_s,
        title=f"{answer.outing.name}: who does what when",
        facts=_facts(answer),
        warning=_warning(answer),
        ways_missing=answer.totals.ways_missing,
    )


def _bars(row: RunRow, still: tuple[str, ...], *, waits: bool) -> list[TimelineBar]:
    if row.kind == "gate":
        return []
    kind: BarKind = "wait" if waits and row.kind == "act" else row.kind
    return [
        TimelineBar(
            lane=who,
            start_s=row.start_s,
            end_s=row.end_s,
            kind="hold still" if row.kind == "act" and who in still else kind,
            text=row.text if row.kind == "block" else (row.act or ""),
            site="" if row.to_site is None else row.to_site.id,
            critical=row.critical and not (row.kind == "act" and who in still),
        )
        for who in row.who
    ]


def _facts(answer: OutingAnswer) -> tuple[str, ...]:
    changed = changed_texts(
        (name, one.value, one.default) for name, one in answer.limits_changed.items()
    )
    structure, plan = answer.structure, answer.outing
    origin = (
        revision_text(plan.revision, of="Plan"),
        f"{structure.name}, {revision_text(structure.revision)}",
        date_text(structure.date),
        f"Gripway {answer.gripway}",
    )
    lines = [
        " \u00b7 ".join(origin),
        digests_text(answer.inputs, DEFAULT_STYLE.longest_text),
        f"Limits not at their default: {', '.join(changed)}"
        if changed
        else "All limits at their default",
    ]
    if answer.closed:
        lines.append(f"Closed: {', '.join(answer.closed)}")
    return tuple(line for line in lines if line)


def _warning(answer: OutingAnswer) -> str:
    if answer.clean:
        return verdict_line(answer) if answer.watched else ""
    blocking = sum(one.severity == "blocks" for one in answer.findings)
    verb = "blocks" if blocking == 1 else "block"
    said = f"NOT CLEAN: {counted(blocking, 'finding')} {verb} this plan"
    if answer.totals.ways_missing:
        missing = counted(answer.totals.ways_missing, "way")
        said += f"; no answer for {missing}, so times are too short"
    lost = [
        f"{one.person} from {clock(one.known_until_s)} on"
        for one in answer.home
        if not one.complete
    ]
    if lost:
        said += f"; time home NOT KNOWN: {', '.join(lost)}"
    return said
