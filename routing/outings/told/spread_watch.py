"""What the spread of an outing's times says against its limits: it stands in the verdict."""

from collections.abc import Iterator
from dataclasses import replace

from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import MINUTE_S
from routing.outings.clock.spread_records import OutingSpread
from routing.outings.told.findings import sorted_outing_findings
from routing.outings.told.results import OutingAnswer, OutingFinding
from routing.outings.told.times_said import clock, duration, over_of
from routing.outings.told.verdict import verdict_of

__all__ = ["with_spread"]


def with_spread(answer: OutingAnswer, spread: OutingSpread | None) -> OutingAnswer:
    """Return an answer with the spread of its times, and a finding where P90 is over a limit.

    Over what the suits hold it blocks, over the planned length it warns. A limit that
    the plan is over without any spread blocks already, and is not said twice.

    Parameters
    ----------
    spread
        None where a way is missing.
    """
    if spread is None:
        return answer
    findings = sorted_outing_findings((*answer.findings, *_over(answer, spread)))
    return replace(answer, spread=spread, findings=findings, verdict=verdict_of(findings))


def _over(answer: OutingAnswer, spread: OutingSpread) -> Iterator[OutingFinding]:
    totals = answer.totals
    for code, limit_s, what, share in (
        ("planned-length", totals.planned_s, "the planned length", spread.over_planned),
        ("consumables", totals.consumables_s, "what the suits hold", spread.over_consumables),
    ):
        if totals.total_s > limit_s + SLACK_ZERO_S or spread.p90_s <= limit_s + SLACK_ZERO_S:
            continue
        yield OutingFinding(
            code=f"p90-over-{code}",
            severity="blocks" if code == "consumables" else "warns",
            at_s=limit_s,
            message=f"P90 is {duration(spread.p90_s)}, {over_of(limit_s, spread.p90_s)} more than "
            f"{what} of {clock(limit_s)}: {share:.0%} of {spread.samples} samples take longer than "
            "that",
            remedy="shorten the acts that drive the spread, or say what is dropped when it is late",
            value=(spread.p90_s - limit_s) / MINUTE_S,
            limit=0.0,
            unit="min",
        )
