"""What planning an outing again changes, as text for people."""

from collections.abc import Iterator
from typing import Final

from routing.outings.told.results import OutingChanges, OutingFinding
from routing.outings.told.times_said import total_said

__all__ = ["change_lines", "few_rails", "finding_line"]

_MOST_RAILS: Final = 8
"""So many handrails of a way stand in the run sheet; all are in the steps."""


def finding_line(one: OutingFinding) -> str:
    """Return a finding in one line: weight, act, what is wrong, what to do."""
    mark = {"blocks": "STOP", "warns": "Watch", "notes": "Note"}[one.severity]
    where = "" if one.act is None else f" [{one.act}]"
    return f"{mark}{where} {one.message}; {one.remedy} ({one.code})"


def change_lines(changes: OutingChanges) -> Iterator[str]:
    """Yield what closing something changes: the length, ways, findings."""
    closed = ", ".join(changes.closed) or "the same"
    yield f"With {closed} closed {_count(len(changes.ways))}; {_longer(changes)}."
    yield from _lost_lines(changes)
    for way in changes.ways:
        if way.after_s is None:
            continue
        trip = f"  {way.person} to {way.act} ({way.from_site.id} to {way.to_site.id}):"
        if way.before_s is None:
            yield f"{trip} a way of {way.after_s:.0f} s where there was none"
        else:
            gone = [one for one in way.before_handrails if one not in way.after_handrails]
            new = [one for one in way.after_handrails if one not in way.before_handrails]
            yield (
                f"{trip} {way.before_s:.0f} s becomes {way.after_s:.0f} s, transfers "
                f"{way.transfers_before} to {way.transfers_after}; no longer {few_rails(gone)}; "
                f"now {few_rails(new)}"
            )
    yield from (f"  new: {finding_line(one)}" for one in changes.new_findings)
    yield from (f"  gone: {finding_line(one)}" for one in changes.gone_findings)


def _lost_lines(changes: OutingChanges) -> Iterator[str]:
    """Yield for each person the first way that is gone, and what can then not be worked out."""
    gone: dict[str, list[str]] = {}
    for way in changes.ways:
        if way.after_s is None:
            gone.setdefault(way.person, []).append(way.act)
    for person, acts in gone.items():
        rest = f"; not worked out after it: {', '.join(acts[1:])}" if len(acts) > 1 else ""
        yield f"  {person} to {acts[0]}: NO WAY any more{rest}"


def _count(ways: int) -> str:
    return "one way changes" if ways == 1 else f"{ways} ways change"


def _longer(changes: OutingChanges) -> str:
    if any(way.after_s is None for way in changes.ways):
        return "the outing cannot be done as planned, so its length is not known"
    before = total_said(changes.total_before_s, changes.missing_before)
    after = total_said(changes.total_after_s, changes.missing_after)
    if changes.missing_before or changes.missing_after:
        return f"the outing takes {after}, {before} before; how much longer is not known"
    longer_s = changes.total_after_s - changes.total_before_s
    much = f"{abs(longer_s) / 60:.1f} min {'longer' if longer_s >= 0 else 'shorter'}"
    return f"the outing takes {after}, {much} than before"


def few_rails(rails: list[str]) -> str:
    """Return the first handrails of a way, and how many more there are."""
    shown = " ".join(rails[:_MOST_RAILS])
    more = f" and {len(rails) - _MOST_RAILS} more" if len(rails) > _MOST_RAILS else ""
    return f"{shown}{more}" or "none"
