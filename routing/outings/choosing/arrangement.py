"""Errands of a plan: which may change places, and the plan with them in another order.

Errands that stand in a row in the plan are a pool: each person does some of them, in
some order, where the pool stands among the person's other acts.
"""

from collections.abc import Collection, Mapping, Sequence
from itertools import groupby
from typing import TypeAlias

from routing.outings.plan_file.records import Act, Outing

__all__ = ["Arrangement", "Pool", "arranged", "as_planned", "may_do", "pools_of"]

Pool: TypeAlias = tuple[str, ...]
"""Ids of errands that may change places, in the plan's order."""

Arrangement: TypeAlias = tuple[Mapping[str, tuple[str, ...]], ...]
"""For each pool who does which errands, in order."""


def pools_of(outing: Outing, get_aheads: Collection[str], dropped: Collection[str]) -> list[Pool]:
    """Return the pools of a plan, without errands whose acts are left out."""
    pools = []
    for free, acts in groupby(outing.acts, key=lambda act: act.errand is not None):
        if free:
            kept = [
                act.errand
                for act in acts
                if (act.spare is None or act.spare in get_aheads) and act.may_drop not in dropped
            ]
            pools += [tuple(dict.fromkeys(one for one in kept if one is not None))] if kept else []
    return pools


def may_do(outing: Outing, errand: str) -> tuple[str, ...]:
    """Return who may do an errand, in the order of the plan's people."""
    named = next(one.who for one in outing.errands if one.id == errand)
    return tuple(one.id for one in outing.people if not named or one.id in named)


def as_planned(outing: Outing, pools: Sequence[Pool]) -> Arrangement:
    """Return the arrangement that stands in the plan."""
    does = {act.errand: act.who[0] for act in outing.acts if act.errand is not None}
    return tuple(
        {
            person.id: tuple(one for one in pool if does[one] == person.id)
            for person in outing.people
        }
        for pool in pools
    )


def arranged(outing: Outing, pools: Sequence[Pool], chosen: Arrangement) -> Outing:
    """Return the plan with its errands in another order, and by others.

    Parameters
    ----------
    chosen
        For the pools from the first on; errands that it does not name are left out, also
        those of the pools behind.
    """
    acts_of: dict[str, list[Act]] = {}
    for act in outing.acts:
        if act.errand is not None:
            acts_of.setdefault(act.errand, []).append(act)
    place = {one: i for i, pool in enumerate(pools) for one in pool}
    done: set[int] = set()
    acts: list[Act] = []
    for act in outing.acts:
        pool = None if act.errand is None else place.get(act.errand)
        if act.errand is None:
            acts.append(act)
        elif pool is not None and pool not in done:
            done.add(pool)
            given = chosen[pool] if pool < len(chosen) else {}
            for errand, person in _in_turn(given):
                acts += [_by(one, person) for one in acts_of[errand]]
    return outing.model_copy(update={"acts": tuple(acts)})


def _in_turn(given: Mapping[str, tuple[str, ...]]) -> list[tuple[str, str]]:
    """Return (errand, person): everybody's first one, then everybody's second one ..."""
    longest = max((len(one) for one in given.values()), default=0)
    return [(errands[i], person) for i in range(longest) for person, errands in given.items()
            if i < len(errands)]  # fmt: skip


def _by(act: Act, person: str) -> Act:
    return act if act.who == (person,) else act.model_copy(update={"who": (person,)})
