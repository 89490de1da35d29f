"""What happens before what however early or late an outing runs, and what by the clock alone.

Acts spread; ways take as long as they take. So two things that happen on ways are in
order for certain where the one way is done before the other begins, or where the
first way begins with something that the other one comes so much later than.
"""

from typing import NamedTuple

from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import Schedule, spread_s

__all__ = ["Happening", "SureOrder"]


class Happening(NamedTuple):
    """Something that happens during an activity, within a stretch of time."""

    activity: str
    start_s: float
    """By the clock [s]."""
    end_s: float


class SureOrder:
    """Tells what is certain to come first.

    Parameters
    ----------
    schedule
        All activities on the clock.
    """

    def __init__(self, schedule: Schedule) -> None:
        self.schedule = schedule
        plan = schedule.plan
        self._low_s = [spread_s(plan, schedule.leg, one)[0] for one in plan.network.ids]
        self._after: dict[int, dict[int, float]] = {}

    def before(self, first: Happening, second: Happening) -> bool:
        """Tell whether the first is over before the second begins, whatever acts take.

        Examples are a way to an act that the other act is ``after``, and two ways
        that begin with the same act, one of them some minutes later.
        """
        network = self.schedule.plan.network
        if network.comes_before(first.activity, second.activity):
            return True
        since = self.begins_with(first.activity)
        if since is None:
            return False
        later_s = self.least_after_s(since, second.activity)
        if later_s is None:
            return False
        into_s = first.end_s - self.schedule.start_s(first.activity)
        return later_s + self._into_s(second) + SLACK_ZERO_S >= into_s

    def begins_with(self, activity: str) -> str | None:
        """Return what a way begins with the end of; None for what waits for more than that."""
        plan = self.schedule.plan
        if plan.activities[activity].kind != "way":
            return None
        (only,) = plan.network.before[plan.network.index[activity]]
        return plan.network.ids[only]

    def least_after_s(self, first: str, second: str) -> float | None:
        """Return how much later the second activity begins than the first is done, at least.

        None where it need not wait for the first.
        """
        network = self.schedule.plan.network
        begin = network.index[first]
        if begin not in self._after:
            # Seconds from the end of the first to the end of each that comes after it.
            ends_s = {begin: 0.0}
            for i, waits in enumerate(network.before):
                known = [ends_s[one] for one in waits if one in ends_s]
                if known and i != begin:
                    ends_s[i] = max(known) + self._low_s[i]
            self._after[begin] = ends_s
        at = network.index[second]
        if at == begin or at not in self._after[begin]:
            return None
        return self._after[begin][at] - self._low_s[at]

    def _into_s(self, one: Happening) -> float:
        """Return how far into its activity something begins, at least [s]."""
        if self.schedule.plan.activities[one.activity].kind != "way":
            return 0.0
        return one.start_s - self.schedule.start_s(one.activity)
