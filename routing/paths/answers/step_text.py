"""Step text that a person can paste: what the hands follow, which way, how far, where to transfer.

Plain text, one step a line, in our own wording. Names come from files, so they
are made harmless first: a control character or a line break in a name cannot
start a step of its own.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from routing.caution import CAUTION
from routing.paths.answers.margin_records import LineMargin
from routing.paths.answers.results import HandOver, Route, SiteRef, Stretch, Transfer
from structures.counting import counted
from structures.units import Side, fine_text, length_text
from structures.versions import revision_text

__all__ = [
    "Step",
    "finding_lines",
    "line_left_text",
    "moves_text",
    "one_line",
    "route_lines",
    "route_steps",
    "route_text",
    "steps_with_places",
]


class Step(NamedTuple):
    """One step, and between which grips of the route it is done."""

    text: str
    first_grip: int
    """Index into the route's grips."""
    last_grip: int


_STEERING = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
"""Unicode categories that steer a screen or a printer instead of standing on it."""


def one_line(text: str) -> str:
    r"""Return text on one line without control and direction marks, runs of white space as one.

    Examples
    --------
    >>> one_line("rail 7\n9. Let go")
    'rail 7 9. Let go'
    """
    # Nearly every text: nothing in it to look up letter by letter.
    if not (text.isascii() and text.isprintable()):
        import unicodedata

        text = "".join(" " if unicodedata.category(c) in _STEERING else c for c in text)
    return " ".join(text.split())


def route_text(route: Route) -> str:
    """Return the step text of a route with its heading, its totals and the caution."""
    heading, *lines = route_lines(route)
    return "\n".join((heading, *finding_lines(route), *lines, CAUTION))


def route_lines(route: Route) -> tuple[str, ...]:
    """Return the step text of a route line by line, without findings and caution."""
    return (_heading(route), *route_steps(route), *_closing(route))


def finding_lines(route: Route) -> tuple[str, ...]:
    """Return the findings of a route, a line each; told before the steps, which may be many."""
    marks = {"blocks": "STOP", "warns": "Watch", "notes": "Note"}
    return tuple(f"{marks[one.severity]}: {one_line(one.message)}" for one in route.findings)


def route_steps(route: Route) -> tuple[str, ...]:
    """Return the numbered steps of a route, one line each."""
    steps = steps_with_places(route)
    return tuple(f"{number}. {step.text}" for number, step in enumerate(steps, start=1))


def steps_with_places(route: Route) -> tuple[Step, ...]:
    """Return the steps of a route without their numbers, each with its place on the route."""
    end = len(route.grips) - 1
    return (Step(_first(route), 0, 0), *_middle(route), Step(_last(route), end, end))


def _length(value_m: float, side: Side = "near") -> str:
    return length_text(value_m, side, feet=True)


def _site(site: SiteRef) -> str:
    return _kind_and_id(site.kind, site.id)


def _element(stretch: Stretch) -> str:
    name = one_line(stretch.name)
    called = f' "{name}"' if name and name != stretch.id else ""
    return f"{_kind_and_id(stretch.kind, stretch.id)}{called}"


def _kind_and_id(kind: str, element_id: str) -> str:
    """Return an id with its kind before it, unless the id is the kind itself."""
    kind, element_id = kind.replace("_", " "), one_line(element_id)
    return element_id if element_id == kind else f"{kind} {element_id}"


def _heading(route: Route) -> str:
    structure = route.structure
    by = "".join(f", by way of {_site(site)}" for site in route.via)
    load = route.situation.carry
    return (
        f"{one_line(structure.name)}, {revision_text(one_line(structure.revision))}: "
        f"from {_site(route.start)} to {_site(route.goal)}{by}"
        f"{'' if load is None else f', carrying {one_line(load)}'}, {route.protocol}."
    )


def _first(route: Route) -> str:
    stay = route.stays[0] if route.stays else None
    here = _element(route.handrails[0])
    start = f"Start at {_site(route.start)}"
    held = "" if here.startswith(_site(route.start)) else f", hands on {here}"
    if stay is None:
        where = "beside it" if route.handrails[0].kind == "socket" else "there"
        return f"{start}{held}; one short tether is hooked {where}, the other is free."
    return (
        f"{start}{held}; safety tether of {_length(stay.length_m)} "
        f"on tether point {one_line(stay.tether_point)}."
    )


def _last(route: Route) -> str:
    return f"At {_site(route.goal)}."


def _middle(route: Route) -> Iterator[Step]:
    transfers = {transfer.grip_index: transfer for transfer in reversed(route.transfers)}
    met = {index: site for site, index in zip(route.via, route.via_grips, strict=True)}
    for number, stretch in enumerate(route.handrails):
        if number:
            here = stretch.first_grip
            yield Step(_reach(route, stretch, transfers), here - 1, here)
        yield from _along(route, stretch, transfers, met)


def _reach(route: Route, stretch: Stretch, transfers: dict[int, Transfer]) -> str:
    over = route.hand_overs[stretch.first_grip - 1]
    text = f"Hands over to {_element(stretch)}{_at(stretch.from_m)}, gap {_length(over.gap_m)}"
    text += _watch(route, over)
    transfer = transfers.get(stretch.first_grip)
    if transfer is not None and route.protocol == "leapfrog":
        text += "; hook the free tether to it, check it, then release the one behind"
    return f"{text}."


def _slow(overs: Sequence[HandOver]) -> str:
    zones = sorted({zone for over in overs for zone in over.slow_zones})
    return f"slow down for {', '.join(one_line(zone) for zone in zones)}"


def _at(along_m: float | None) -> str:
    return "" if along_m is None else f" at {along_m:.2f} m along it"


def _watch(route: Route, over: HandOver) -> str:
    gap = route.margins.gap
    notes = []
    if gap is not None and (over.from_grip, over.to_grip) == (gap.from_grip, gap.to_grip):
        notes.append(f"largest gap of the route, {_length(gap.left_m, 'down')} of reach left")
    if over.way_m > over.gap_m + 0.005:
        notes.append(f"{_length(over.way_m)} round the edge")
    if over.slow_zones:
        notes.append(_slow((over,)))
    return f" ({'; '.join(notes)})" if notes else ""


def _along(
    route: Route, stretch: Stretch, transfers: dict[int, Transfer], met: dict[int, SiteRef]
) -> Iterator[Step]:
    """Tell the way along one element, stopping where something is done."""
    here = stretch.first_grip
    for index in range(stretch.first_grip, stretch.last_grip + 1):
        transfer = transfers.get(index) if route.protocol == "reel" else None
        site = met.get(index)
        if transfer is None and site is None:
            continue
        if index > here:
            yield Step(_follow(route, stretch, here, index), here, index)
        here = index
        if transfer is not None:
            yield Step(_swap(transfer), here, here)
        if site is not None:
            yield Step(f"By way of {_site(site)}.", here, here)
    if stretch.last_grip > here:
        last = stretch.last_grip
        yield Step(_follow(route, stretch, here, last), here, last)


def _swap(transfer: Transfer) -> str:
    length = "" if transfer.line_m is None else f" of {_length(transfer.line_m)}"
    if transfer.returns:
        return (
            f"Take the earlier tether{length} again, the one on tether point "
            f"{one_line(transfer.id)}, check it, then take the other one off and along."
        )
    return (
        f"Hook the next tether{length} to tether point {one_line(transfer.id)}, check it, "
        "then release the one before and stow its end here."
    )


def _follow(route: Route, stretch: Stretch, first: int, last: int) -> str:
    overs = route.hand_overs[first:last]
    way = _heading_between(route, first, last)
    far = _length(sum(over.way_m for over in overs))
    slow = f"; {_slow(overs)}" if any(over.slow_zones for over in overs) else ""
    return (
        f"Follow {_element(stretch)}{way} for {far}"
        f"{_at(route.grips[last].along_m).replace(' at ', ' to ', 1)}{slow}."
    )


def _heading_between(route: Route, first: int, last: int) -> str:
    from routing.paths.answers.records import heading

    way = heading(route.grips[first].position_m, route.grips[last].position_m)
    return "" if way is None else f" {way}"


def _closing(route: Route) -> Iterator[str]:
    sums = route.totals
    yield (
        f"Total {sums.seconds:.0f} s ({sums.seconds / 60:.1f} min), "
        f"{_length(sums.distance_m)}, {moves_text(route)}, {counted(sums.transfers, 'transfer')}."
    )
    if route.margins.line is not None:
        yield f"Least line left {line_left_text(route.margins.line)}."


def moves_text(route: Route) -> str:
    """Return how often a hand moves on, and how many of these are steps of their own."""
    changes = sum(over.changes_rail for over in route.hand_overs)
    moves = counted(route.totals.hand_overs, "move")
    return f"{moves} of the hands ({changes} to another rail or hold)"


def line_left_text(line: LineMargin) -> str:
    """Return the least line left, where, and how far that is from the reserve.

    To the millimetre, and the difference said in words: to the centimetre a line
    that just keeps its reserve would read as one that does not.
    """
    spare_m = line.least_left_m - line.reserve_m
    from_it = (
        f"{fine_text(spare_m, 'down')} above"
        if spare_m >= 0
        else f"{fine_text(-spare_m, 'up')} short of"
    )
    return (
        f"{fine_text(line.least_left_m, 'down')} at {one_line(line.worst_grip)}, "
        f"{from_it} the reserve of {fine_text(line.reserve_m)}"
    )
