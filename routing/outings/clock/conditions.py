"""Which conditions may be in force while something goes on.

Told from the order alone, not from the clock: a condition counts wherever it is
not certain to be over. So a route stays clear of its zones however early or late
things run.
"""

from collections.abc import Collection

from routing.outings.clock.activity_plan import ActivityPlan

__all__ = ["conditions_during", "conditions_since"]


def conditions_during(plan: ActivityPlan, activity: str) -> tuple[str, ...]:
    """Return the conditions that may be in force during an activity, sorted.

    One that an act sets may be in force from the beginning of that act until an
    act that clears it, and comes after it, is done.
    """
    return _in_force(plan, activity, begins_by=(activity,))


def conditions_since(
    plan: ActivityPlan, activity: str, until: Collection[str] = ()
) -> tuple[str, ...]:
    """Return the conditions that may be in force during an activity or later, sorted.

    Parameters
    ----------
    until
        Activities that end it: what begins only when one of them is done does not count.
    """
    return _in_force(plan, activity, begins_by=until)


def _in_force(plan: ActivityPlan, activity: str, begins_by: Collection[str]) -> tuple[str, ...]:
    network, outing = plan.network, plan.outing
    setters: dict[str, list[str | None]] = {one: [None] for one in outing.when}
    for act in plan.acts:
        for one in act.sets:
            setters.setdefault(one, []).append(act.id)
    found = set()
    for condition, sources in setters.items():
        cleared_by = [act.id for act in plan.acts if condition in act.clears]
        for source in sources:
            if source is not None and any(network.comes_before(x, source) for x in begins_by):
                continue
            over = any(
                network.comes_before(clear, activity)
                and (source is None or network.comes_before(source, clear))
                for clear in cleared_by
            )
            if not over:
                found.add(condition)
    return tuple(sorted(found))
