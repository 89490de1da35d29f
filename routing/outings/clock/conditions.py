"""Which conditions may be in force while something goes on.

Told from the order alone, not from the clock: a condition counts wherever it is
not certain to be over. So a route stays clear of its zones however early or late
things run.
"""

from routing.outings.clock.activity_plan import ActivityPlan

__all__ = ["conditions_during"]


def conditions_during(plan: ActivityPlan, activity: str) -> tuple[str, ...]:
    """Return the conditions that may be in force during an activity, sorted.

    One that an act sets may be in force from the beginning of that act until an
    act that clears it, and comes after it, is done.
    """
    network, outing = plan.network, plan.outing
    setters: dict[str, list[str | None]] = {one: [None] for one in outing.when}
    for act in plan.acts:
        for one in act.sets:
            setters.setdefault(one, []).append(act.id)
    found = set()
    for condition, sources in setters.items():
        cleared_by = [act.id for act in plan.acts if condition in act.clears]
        for source in sources:
            if source is not None and network.comes_before(activity, source):
                continue
            over = any(
                network.comes_before(clear, activity)
                and (source is None or network.comes_before(source, clear))
                for clear in cleared_by
            )
            if not over:
                found.add(condition)
    return tuple(sorted(found))
