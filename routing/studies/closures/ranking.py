"""What the rows of closures come to: critical elements, and single points of failure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import fsum

from routing.graph.sites import SITE_KINDS
from routing.paths.answers.results import Result, SiteRef
from routing.studies.closures.sweep import COLUMNS, SAME_S
from routing.studies.closures.times_home import FAILS
from routing.studies.running.study import Row
from structures.model import Structure

__all__ = ["Critical", "SinglePoint", "Tally", "count_rows", "site_ref"]


class Critical(Result):
    """What one closure costs all trips together."""

    closure: tuple[str, ...]
    kind: str
    lost: tuple[SiteRef, ...] = ()
    """Goals without any way left, other than those that are closed themselves."""
    unsafe: tuple[SiteRef, ...] = ()
    """Goals with no safe way left."""
    itself: tuple[SiteRef, ...] = ()
    """Goals that are at what is closed, so that they are gone: no way could help."""
    late: tuple[SiteRef, ...] = ()
    """Goals with a safe way left from which nobody is home within the emergency limit any more.

    Those of which that is true with nothing closed are left out.
    """
    caught: tuple[SiteRef, ...] = ()
    """Goals from which who is there when it closes is not home in time.

    Those that are too late home with nothing closed are left out.
    """
    caught_not_checked: int = 0
    """Goals of which the way home was not looked at for who is there when it happens (reel)."""
    slower: int = 0
    """Goals that still have a safe way out, but a slower one; ``late`` ones may be among them."""
    extra_s: float = 0.0
    """Time lost on these, all together [s]."""
    most_extra_s: float = 0.0
    most_extra_goal: SiteRef | None = None
    """The goal that loses most time."""
    most_extra_before: tuple[str, ...] = ()
    """Stays (reel) or elements held (leapfrog) on the way there with nothing closed."""
    most_extra_chain: tuple[str, ...] = ()
    """The same on the way that is left."""
    most_home_s: float | None = None
    """The longest time home from a hold of a safe way that it changes, where one is known [s]."""
    most_home_goal: SiteRef | None = None
    extra_transfers: int = 0
    """Transfers more on the ways that are left, all together."""

    @property
    def cuts_off(self) -> int:
        """How many goals have no safe way left, other than those that are gone."""
        return len(self.lost) + len(self.unsafe)

    @property
    def only_caught(self) -> tuple[SiteRef, ...]:
        """Goals that keep a safe way, in time home, but not for who is there when it closes."""
        told = {*self.lost, *self.unsafe, *self.late}
        return tuple(goal for goal in self.caught if goal not in told)

    @property
    def costs_goals(self) -> int:
        """How many goals are cut off, gone, or too late home."""
        return self.cuts_off + len(self.itself) + len(self.late)


class SinglePoint(Result):
    """A goal, and what need only be lost singly for it to have no safe way."""

    goal: SiteRef
    elements: tuple[str, ...] = ()
    """Elements, by id."""
    conditions: tuple[str, ...] = ()
    """Conditions that cut it off as long as they are in force."""
    gone_with: tuple[str, ...] = ()
    """What it is at, for instance its socket, and conditions that close that."""
    late_with: tuple[str, ...] = ()
    """What only puts it over the emergency limit on times home."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """What the rows come to."""

    rows: int
    critical: tuple[Critical, ...]
    """Closures that change anything, worst first."""
    single_points: tuple[SinglePoint, ...]
    """Goals that hang on something, by id."""

    @property
    def safe(self) -> bool:
        """Whether every goal keeps a safe way, in time home, unless it is itself what is closed."""
        return not any(one.cuts_off or one.late or one.caught for one in self.critical)


@dataclass(slots=True)
class _Sum:
    """One closure while rows come in."""

    kind: str
    lost: list[str] = field(default_factory=list)
    unsafe: list[str] = field(default_factory=list)
    itself: list[str] = field(default_factory=list)
    late: list[str] = field(default_factory=list)
    caught: list[str] = field(default_factory=list)
    caught_not_checked: int = 0
    slower: int = 0
    extra_s: list[float] = field(default_factory=list)
    worst: tuple[float, str] = (0.0, "")
    chains: tuple[tuple[str, ...], tuple[str, ...]] = ((), ())
    """Before and after, at the worst."""
    extra_transfers: int = 0
    home: tuple[float, str] = (0.0, "")
    """The longest time home, and of which goal."""


_AT = {column.name: i for i, column in enumerate(COLUMNS)}


def count_rows(structure: Structure, rows: Iterable[Row]) -> Tally:
    """Sum up the rows of a study of closures; they are taken one by one.

    Closures are ranked by goals cut off, gone or too late home, then by those gone, then by
    those from which who is there is not home in time, then by time lost, then by id. A goal
    that is gone because it is at what is closed is counted apart, and is no fault of the
    ways: it makes nothing unsafe.
    """
    sums: dict[tuple[str, ...], _Sum] = {}
    count = 0
    for row in rows:
        count += 1
        told = {name: row[i] for name, i in _AT.items()}
        closure = told["closure"]
        if not isinstance(closure, tuple):
            raise TypeError(f"a row about {closure!r}, which is no closure")
        _add(sums.setdefault(closure, _Sum(str(told["kind"]))), told)
    critical = [_critical(structure, closure, one) for closure, one in sums.items()]
    critical.sort(key=_rank)
    return Tally(rows=count, critical=tuple(critical), single_points=_single_points(critical))


def _rank(one: Critical) -> tuple[int, int, int, float, tuple[str, ...]]:
    gone, caught = len(one.itself), len(one.caught)
    return (-one.costs_goals, -gone, -caught, -one.extra_s, one.closure)


def _add(one: _Sum, told: Mapping[str, object]) -> None:
    goal, fate = str(told["worksite"] or told["goal"]), told["fate"]
    if told["itself"]:
        one.itself.append(goal)
        return
    was_late = told["before_home"] in FAILS
    one.caught_not_checked += told["caught"] == "not checked"
    if not was_late and told["caught"] in FAILS:
        one.caught.append(goal)
    if fate == "no way":
        one.lost.append(goal)
        return
    extra = told["extra_transfers"]
    one.extra_transfers += extra if isinstance(extra, int) else 0
    if fate == "unsafe":
        one.unsafe.append(goal)
        return
    if fate == "too late" and not was_late:
        one.late.append(goal)
    home_s, extra_s = told["after_home_s"], told["extra_s"]
    if isinstance(home_s, float) and home_s > one.home[0]:
        one.home = (home_s, goal)
    if isinstance(extra_s, float) and extra_s > SAME_S:
        one.slower += 1
        one.extra_s.append(extra_s)
        if extra_s > one.worst[0]:
            one.worst = (extra_s, goal)
            one.chains = (_chain(told["before_chain"]), _chain(told["after_chain"]))


def _chain(told: object) -> tuple[str, ...]:
    if not isinstance(told, tuple):
        raise TypeError(f"a row about {told!r}, which is no chain")
    return told


def site_ref(structure: Structure, site_id: str) -> SiteRef:
    """Return a site under a key that says what it is."""
    element = structure.by_id.get(site_id)
    kind = "grip" if element is None else SITE_KINDS.get(type(element), "grip")
    return SiteRef(**{kind.replace(" ", "_"): site_id})


def _critical(structure: Structure, closure: tuple[str, ...], one: _Sum) -> Critical:
    def refs(ids: Iterable[str]) -> tuple[SiteRef, ...]:
        return tuple(site_ref(structure, one) for one in ids)

    return Critical(
        closure=closure,
        kind=one.kind,
        lost=refs(one.lost),
        unsafe=refs(one.unsafe),
        itself=refs(one.itself),
        late=refs(one.late),
        caught=refs(one.caught),
        caught_not_checked=one.caught_not_checked,
        slower=one.slower,
        extra_s=fsum(one.extra_s),
        most_extra_s=one.worst[0],
        most_extra_goal=site_ref(structure, one.worst[1]) if one.worst[1] else None,
        most_extra_before=one.chains[0],
        most_extra_chain=one.chains[1],
        extra_transfers=one.extra_transfers,
        most_home_s=one.home[0] if one.home[1] else None,
        most_home_goal=site_ref(structure, one.home[1]) if one.home[1] else None,
    )


def _single_points(critical: Iterable[Critical]) -> tuple[SinglePoint, ...]:
    found: dict[SiteRef, dict[str, list[str]]] = {}
    for one in critical:
        if len(one.closure) > 1:
            continue
        cuts = "conditions" if one.kind == "condition" else "elements"
        for how, goals in (
            (cuts, (*one.lost, *one.unsafe)),
            ("gone_with", one.itself),
            ("late_with", one.late),
        ):
            for goal in goals:
                found.setdefault(goal, {}).setdefault(how, []).append(one.closure[0])
    return tuple(
        SinglePoint(goal=goal, **{how: tuple(sorted(ids)) for how, ids in lists.items()})
        for goal, lists in sorted(found.items(), key=lambda one: one[0].id)
    )
