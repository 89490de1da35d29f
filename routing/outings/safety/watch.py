"""Safety over the time of an outing: all checks that need where everybody is at every moment."""

from dataclasses import dataclass
from itertools import combinations

from routing.outings.clock.schedule import Schedule
from routing.outings.custody.handling import Stock
from routing.outings.lines.records import LinesMeet
from routing.outings.lines.watch import PairOfLines, check_lines, lines_meet, pairs_of_lines
from routing.outings.safety.home_watch import check_times_home, home_curve
from routing.outings.safety.hung_items import check_hung
from routing.outings.safety.moments import moments_of
from routing.outings.safety.people_near import check_people_near, people_near
from routing.outings.safety.rescue_watch import check_not_fetched
from routing.outings.safety.safety_records import HomeCurve
from routing.outings.safety.shared_points import check_shared_points
from routing.outings.safety.staged_tethers import check_staged
from routing.outings.safety.zone_watch import check_zones
from routing.outings.told.results import OutingFinding
from routing.outings.translations import Ground

__all__ = ["Safety", "watch_safety"]


@dataclass(frozen=True, kw_only=True)
class Safety:
    """What was found."""

    home: tuple[HomeCurve, ...]
    """One for each person."""
    pairs: tuple[PairOfLines, ...]
    """Every two people's lines over time."""
    lines: tuple[LinesMeet, ...]
    """Where they cross, by time."""
    findings: tuple[OutingFinding, ...]


def watch_safety(schedule: Schedule, ground: Ground, stock: Stock) -> Safety:
    """Check times home, zones in force, who is near whom and whose lines cross, at every moment."""
    people = [person.id for person in schedule.plan.outing.people]
    moments = {one: moments_of(schedule, ground, stock, one) for one in people}
    curves = tuple(home_curve(schedule, ground, one, moments[one]) for one in people)
    findings = [
        *check_times_home(curves, schedule, ground, moments),
        *check_not_fetched(schedule.plan.outing.people),
    ]
    for one in people:
        findings += check_zones(schedule, ground, moments[one])
    findings += check_hung(schedule, ground, stock, moments)
    findings += check_staged(schedule, ground, moments)
    findings += check_shared_points(ground, moments, schedule.acts_end_s)
    for first, second in combinations(people, 2):
        near = people_near(ground, moments[first], moments[second], schedule.acts_end_s)
        findings += check_people_near(ground, near)
    pairs = pairs_of_lines(schedule, ground, moments)
    lines = lines_meet(schedule, ground, pairs)
    findings += check_lines(lines)
    return Safety(home=curves, pairs=pairs, lines=lines, findings=tuple(findings))
