"""What planning again with something closed changes: ways, times and findings."""

from routing.outings.told.results import (
    OutingAnswer,
    OutingChanges,
    OutingFinding,
    Translation,
    WayChange,
)

__all__ = ["compare_outings"]

SAME_S = 0.5
"""Ways whose time differs by less are the same way if they use the same handrails [s]."""


def compare_outings(before: OutingAnswer, after: OutingAnswer) -> OutingChanges:
    """Return what is different between two answers to the same plan, in the plan's order."""
    old = {_key(one): one for one in before.translations}
    new = {_key(one): one for one in after.translations}
    ways = []
    for key in [*old, *(one for one in new if one not in old)]:
        change = _way_change(old.get(key), new.get(key))
        if change is not None:
            ways.append(change)
    said, says = _kinds(before.findings), _kinds(after.findings)
    return OutingChanges(
        closed=tuple(one for one in after.closed if one not in before.closed),
        total_before_s=before.totals.total_s,
        total_after_s=after.totals.total_s,
        missing_before=before.totals.ways_missing,
        missing_after=after.totals.ways_missing,
        ways=tuple(ways),
        new_findings=tuple(f for key, f in says.items() if key not in said),
        gone_findings=tuple(f for key, f in said.items() if key not in says),
    )


def _key(way: Translation) -> tuple[str, str, bool]:
    return (way.act, way.person, way.laying)


def _kinds(
    findings: tuple[OutingFinding, ...],
) -> dict[tuple[str, str | None, str | None, tuple[str, ...]], OutingFinding]:
    return {(f.code, f.act, f.person, f.elements): f for f in findings}


def _rails(way: Translation | None) -> tuple[str, ...]:
    return () if way is None else tuple(one.id for one in way.handrails)


def _way_change(old: Translation | None, new: Translation | None) -> WayChange | None:
    one = new or old
    if one is None:
        raise AssertionError("a change is of a way that is in one of the answers")
    before_s = old.seconds if old is not None and old.found else None
    after_s = new.seconds if new is not None and new.found else None
    same = (
        _rails(old) == _rails(new)
        and (before_s is None) == (after_s is None)
        and abs((before_s or 0.0) - (after_s or 0.0)) < SAME_S
    )
    if same:
        return None
    return WayChange(
        act=one.act,
        person=one.person,
        from_site=one.from_site,
        to_site=one.to_site,
        before_s=before_s,
        after_s=after_s,
        before_handrails=_rails(old),
        after_handrails=_rails(new),
        transfers_before=0 if old is None else old.transfers,
        transfers_after=0 if new is None else new.transfers,
    )
