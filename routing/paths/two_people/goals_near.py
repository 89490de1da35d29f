"""Two people who stay at the ends of their routes: whether both have room there."""

import math

from routing.paths.answers.results import Result, Route

__all__ = ["GoalsNear", "goals_near"]


class GoalsNear(Result):
    """The ends of two routes at one place, or nearer to each other than one person takes."""

    first_at: str
    """Grip at which the first person stays."""
    second_at: str
    distance_m: float
    """Between both grips, straight."""
    limit_m: float
    """How far two people stay apart."""

    @property
    def same_place(self) -> bool:
        """Whether it is one grip."""
        return self.first_at == self.second_at


def goals_near(first: Route, second: Route, limit_m: float) -> GoalsNear | None:
    """Return the ends of both routes if they are nearer than a limit, else None.

    Whoever has come to the goal stays there, so it does not matter who comes when.
    A hatch holds everybody.

    Parameters
    ----------
    limit_m
        How far two people stay apart, see `Limits.people_apart_m`.
    """
    one, other = first.grips[-1], second.grips[-1]
    if one.grip == other.grip and one.hatch is not None:
        return None
    distance_m = math.dist(one.position_m, other.position_m)
    if one.grip != other.grip and distance_m >= limit_m:
        return None
    return GoalsNear(
        first_at=one.grip, second_at=other.grip, distance_m=distance_m, limit_m=limit_m
    )
