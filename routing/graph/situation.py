"""Who moves, with what, under which conditions: all that the reach graph depends on."""

from dataclasses import field

from routing.limits import DEFAULT_LIMITS, Limits
from structures.elements import Item, Person
from structures.frozen import frozen

__all__ = ["Ability", "Situation"]


@frozen(kw_only=True)
class Ability:
    """What one person can do with one load, in SI units."""

    reach_m: float
    rate_m_per_s: float
    corridor_radius_m: float


@frozen(kw_only=True)
class Situation:
    """One person, one load, and the state of the structure.

    Parameters
    ----------
    limits
        The limits in force.
    person
        Who moves; ``None`` means exactly the limits' own reach and rate.
    carry
        What is carried; a load widens the corridor, shortens the reach and
        slows the rate.
    when
        Ids of the conditions in force, sorted.
    closed
        Ids of handrails, handholds, tether points and sockets that must not be used, sorted
        (those closed by conditions are added by the graph builder).
    tow
        Whether a partner who cannot move is brought along: that widens the
        corridor, shortens the reach and slows the rate as a load does. A path for
        assisted ingress is required by NASA-STD-3001 Vol 2 Rev B, 8.3.9 [V2 8021].
    """

    limits: Limits = field(default=DEFAULT_LIMITS)
    person: Person | None = None
    carry: Item | None = None
    when: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()
    tow: bool = False

    @property
    def free_reach_m(self) -> float:
        """Reach of this person with both hands free, whatever is carried [m]."""
        if self.person is not None and self.person.reach_m is not None:
            return self.person.reach_m
        return self.limits.reach_m

    @property
    def ability(self) -> Ability:
        """Reach, rate and corridor of this person with this load."""
        limits = self.limits
        reach_m = self.free_reach_m
        rate_m_per_s = limits.rate_m_per_s
        radius_m = limits.corridor_radius_m
        if self.person is not None:
            if self.person.rate_m_per_s is not None:
                rate_m_per_s = self.person.rate_m_per_s
            if self.person.corridor_radius_m is not None:
                radius_m = self.person.corridor_radius_m
        if self.carry is not None:
            reach_m *= limits.load_reach_factor
            rate_m_per_s *= limits.load_rate_factor
            radius_m += carried_envelope_m(self.carry)
        if self.tow:
            reach_m *= limits.tow_reach_factor
            rate_m_per_s *= limits.tow_rate_factor
            radius_m += limits.tow_envelope_m
        return Ability(reach_m=reach_m, rate_m_per_s=rate_m_per_s, corridor_radius_m=radius_m)


def carried_envelope_m(item: Item) -> float:
    """Return what an item adds to the corridor radius: half its diagonal unless it says [m]."""
    if item.envelope_m is not None:
        return item.envelope_m
    x, y, z = item.size_m
    return float((x * x + y * y + z * z) ** 0.5) / 2
