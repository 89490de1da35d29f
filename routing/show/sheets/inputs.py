"""What a drawing is made from, apart from the structure: routes, facts, a region, a profile."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, Literal, TypeAlias

from routing.errors import RoutingError
from routing.limits import DEFAULT_LIMITS, Limits
from routing.paths.answers.results import InputDigest
from structures.frames import Vector

__all__ = [
    "MOST_ROUTES",
    "DrawingError",
    "LabelKind",
    "MapFacts",
    "MapRoute",
    "MapTransfer",
    "ProfileTransfer",
    "Region",
    "RouteProfile",
    "refuse_too_many",
    "region_around",
]

MOST_ROUTES: Final = 4
"""So many routes can be told apart on one map, in grey as in colour."""


LabelKind: TypeAlias = Literal["id", "grip number", "module name", "zone name"]
"""What a label is to those who miss it."""


class DrawingError(RoutingError, ValueError):
    """A drawing was asked for that cannot be made from what was given."""


def _check_points(points_m: Iterable[Vector], what: str) -> None:
    for i, point in enumerate(points_m):
        if not all(math.isfinite(value) for value in point):
            raise DrawingError(f"{what}[{i}] is {point}; give three finite coordinates in metres")


@dataclass(frozen=True, slots=True, kw_only=True)
class MapTransfer:
    """One tether transfer: where the person is, what is hooked, and what to write beside it.

    Parameters
    ----------
    position_m
        The grip at which the person holds on, shape (3,) [m].
    tether_point
        Id of what the hook is put on; a line is drawn to it if it is a tether point.
    label
        Short text after the number; may be empty.
    """

    position_m: Vector
    tether_point: str
    label: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MapRoute:
    """One person's way, as far as a map shows it.

    Parameters
    ----------
    person
        Name of the person, written at the start and in the legend.
    grips_m
        Positions of the grips in order, at least one, each (3,) [m].
    normals
        Outward normal of each grip, or nothing: grips behind a solid are drawn open, and with
        normals so are those that face away from the viewer.
    handrails
        Ids of the handrails in order; their ids are written first.
    transfers
        In order.
    stays
        Ids of the tether points at which a tether is anchored, in order.
    lays_m
        Where the tether lines lie, one polyline each [m].
    unsafe
        Whether a finding blocks it: it is then drawn hollow and crossed out.
    runs_out_m
        Where the tether line runs out, on a route that is not to be followed (3,) [m].

    Raises
    ------
    DrawingError
        There is no grip, a position is not finite, or normals and grips differ in number.
    """

    person: str
    grips_m: tuple[Vector, ...]
    normals: tuple[Vector, ...] = ()
    handrails: tuple[str, ...] = ()
    transfers: tuple[MapTransfer, ...] = ()
    stays: tuple[str, ...] = ()
    lays_m: tuple[tuple[Vector, ...], ...] = ()
    unsafe: bool = False
    runs_out_m: Vector | None = None

    def __post_init__(self) -> None:
        if not self.grips_m:
            raise DrawingError(
                f"the route of {self.person!r} has no grips; a map needs one or more"
            )
        if self.normals and len(self.normals) != len(self.grips_m):
            raise DrawingError(
                f"the route of {self.person!r} has {len(self.grips_m)} grips but "
                f"{len(self.normals)} normals; give one normal for each grip, or none"
            )
        _check_points(self.grips_m, "grips_m")
        _check_points(self.normals, "normals")
        _check_points((transfer.position_m for transfer in self.transfers), "transfers")
        for lay_m in self.lays_m:
            _check_points(lay_m, "lays_m")
        _check_points(() if self.runs_out_m is None else (self.runs_out_m,), "runs_out_m")


@dataclass(frozen=True, slots=True, kw_only=True)
class MapFacts:
    """What the title block says about where the drawing is from.

    Parameters
    ----------
    subject
        What is drawn, for instance ``hatch to W12``.
    told
        What was asked of the routes drawn and what came of each, a text for each subject.
    inputs
        Every file that was read; its name and the first 12 digits of its SHA-256 are written.
    before
        Every file of the revision that the drawing compares with.
    limits
        Limits in force; those that differ from their default are written.
    when
        Ids of the conditions in force.
    closed
        Ids closed for this drawing, besides those that the conditions close.
    """

    subject: str = ""
    told: tuple[str, ...] = ()
    inputs: tuple[InputDigest, ...] = ()
    before: tuple[InputDigest, ...] = ()
    limits: Limits = field(default=DEFAULT_LIMITS)
    when: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A box along the station axes; a drawing of it shows nothing outside.

    Raises
    ------
    DrawingError
        A corner is not finite, or low is not below high on every axis.
    """

    low_m: Vector
    high_m: Vector

    def __post_init__(self) -> None:
        _check_points((self.low_m, self.high_m), "region corners")
        if any(low >= high for low, high in zip(self.low_m, self.high_m, strict=True)):
            raise DrawingError(
                f"region {self.low_m} to {self.high_m} m is empty; each low value must be below "
                "the high one of the same axis"
            )


def region_around(routes: tuple[MapRoute, ...], *, margin_m: float = 2.0) -> Region:
    """Return the box that holds all grips, transfers and lays of routes, and a margin [m].

    Raises
    ------
    DrawingError
        There is no route, or the margin is not above 0.
    """
    if not routes or not margin_m > 0:
        raise DrawingError(
            f"a region around {len(routes)} routes with a margin of {margin_m:g} m has no extent; "
            "give at least one route and a margin above 0 m"
        )
    points = [
        point
        for route in routes
        for line in (
            route.grips_m,
            tuple(transfer.position_m for transfer in route.transfers),
            *route.lays_m,
        )
        for point in line
    ]
    low = [min(point[i] for point in points) - margin_m for i in range(3)]
    high = [max(point[i] for point in points) + margin_m for i in range(3)]
    return Region(low_m=(low[0], low[1], low[2]), high_m=(high[0], high[1], high[2]))


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileTransfer:
    """A transfer on a profile: where, and what is hooked there."""

    distance_m: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteProfile:
    """What changes along a route of k grips.

    Parameters
    ----------
    distance_m
        Distance walked at each grip, never falling, at least two. At a transfer a grip may stand
        twice, with the payout before and after.
    gap_m, clearance_m
        Hand gap and clearance beyond the corridor of each move, one fewer than grips [m];
        ``inf`` where there is nothing to be clear of.
    reach_m
        The largest gap allowed [m].
    payout_m
        Line out at each grip [m]; empty where no reel is used.
    payout_limit_m
        Length of the tether in use less the reserve, at each grip [m].
    transfers
        In order.
    person
        Who moves.
    elapsed_m, elapsed_s
        Distance walked and time since the start, on arriving at each grip and again after each
        transfer there, neither ever falling [m], [s]; empty where the time is not shown.

    Raises
    ------
    DrawingError
        Numbers of values do not agree, distance falls, or a value is not a number.
    """

    distance_m: tuple[float, ...]
    gap_m: tuple[float, ...]
    clearance_m: tuple[float, ...]
    reach_m: float
    payout_m: tuple[float, ...] = ()
    payout_limit_m: tuple[float, ...] = ()
    transfers: tuple[ProfileTransfer, ...] = ()
    person: str = ""
    elapsed_m: tuple[float, ...] = ()
    elapsed_s: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        count = len(self.distance_m)
        if count < 2:
            raise DrawingError(f"a profile of {count} grips has no moves; give two or more")
        for name, wanted in (
            ("gap_m", {count - 1}),
            ("clearance_m", {count - 1}),
            ("payout_m", {0, count}),
            ("payout_limit_m", {len(self.payout_m)}),
            ("elapsed_s", {len(self.elapsed_m)}),
        ):
            values = getattr(self, name)
            if len(values) not in wanted:
                raise DrawingError(
                    f"{name} has {len(values)} values; with {count} grips give {max(wanted)}"
                )
            open_ended = name == "clearance_m"
            if not all(math.isfinite(value) or (open_ended and value > 0) for value in values):
                raise DrawingError(f"{name} holds a value that is not a finite number")
        for name in ("distance_m", "elapsed_m", "elapsed_s"):
            places = getattr(self, name)
            if not all(map(math.isfinite, places)) or any(a > b for a, b in pairwise(places)):
                raise DrawingError(f"{name} must be finite and must not fall along the route")


def refuse_too_many(routes: tuple[MapRoute, ...]) -> None:
    """Refuse more routes than can be told apart on one map.

    Raises
    ------
    DrawingError
        There are more than `MOST_ROUTES`.
    """
    if len(routes) > MOST_ROUTES:
        raise DrawingError(
            f"{len(routes)} routes on one map cannot be told apart; give at most {MOST_ROUTES}"
        )
