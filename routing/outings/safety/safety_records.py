"""What the answer to an outing says about safety over its time."""

from typing import Literal, TypeAlias

from routing.paths.answers.results import Result

__all__ = ["HomeCurve", "HomePoint", "HowHome", "Rescue", "TurnHome"]

HowHome: TypeAlias = Literal["with all", "load left behind", "tethers left outside", "no way"]


class HomePoint(Result):
    """Time home of one person from one moment on, until the next one."""

    at_s: float
    act: str | None = None
    """The act gone to or begun; none before the first."""
    grip: str
    home_s: float | None = None
    """Alone; none where no way leads home."""
    how: HowHome
    """What comes along alone: all tethers and the load where that is in time, else less."""
    latest_turn_s: float | None = None
    """Latest moment to turn home from there, alone, so that clean-up, ingress and repress are done
    within what the suits hold; below ``at_s``: it is too late already."""
    tow_s: float | None = None
    """With the partner in tow, tethers and load left outside; none where no way leads home.
    One transfer of it is for hooking the partner on and letting go of the partner's tether."""
    tow_exact: bool = True
    """Whether ``tow_s`` is the time itself; else the time is at most that."""


class HomeCurve(Result):
    """How long home, from every moment of one person's outing, against the limit."""

    person: str
    limit_s: float
    points: tuple[HomePoint, ...]
    """By time; at a hold with a transfer both before and after it."""
    worst: HomePoint | None = None
    """Where it takes longest alone."""
    worst_tow: HomePoint | None = None
    """Where it takes longest with the partner in tow (to 5 s)."""
    known_until_s: float
    """What comes later is not worked out where a way was not found."""
    complete: bool
    """Whether that is the whole outing; else the worst is only that of what is known, and no
    moment to turn home is told for this person."""


class TurnHome(Result):
    """The latest moment to turn home from one act, the way there included."""

    person: str
    act: str | None = None
    """None before the first act."""
    from_s: float
    """When it begins, with the way there."""
    turn_by_s: float | None = None
    """Turning home later, alone, ends after what the suits hold; none: no way home is known."""
    home_s: float | None = None
    """How long that takes from the grip where it is worst."""


class Rescue(Result):
    """Fetching the partner home who is at an act or waits: there, hook on, let go, home in tow.

    Put together from the quickest way to the partner and the quickest way home from there on
    the tethers that this leaves: the time is one that can be kept, and maybe not the least.
    """

    from_s: float
    until_s: float
    rescuer: str
    partner: str
    rescuer_at: str
    """Grip; of who is on the way the one at its end, to which the rescuer goes on first."""
    partner_at: str
    rescuer_act: str | None = None
    partner_act: str | None = None
    there_s: float | None = None
    """To the partner from the beginning of this time on: what is left of a way and feet out of a
    restraint first; none where no way leads there."""
    let_go_at: str | None = None
    """Tether point at which the partner's own tether is let go, its end stowed; none under
    leapfrog, where both short tethers come along, and where none is shown."""
    on_the_way_m: float = 0.0
    """How far the partner's line comes along until it is let go."""
    seconds: float | None = None
    """All of it, until both are at the hatch; none where that is not shown to be possible."""
    limit_s: float
    verdict: Literal["in time", "too late", "no way", "not shown"]
    why: str = ""
