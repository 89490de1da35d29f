"""Thin margins over all ways of one person: the least is said first, with its place and act."""

from dataclasses import replace
from pathlib import Path

from routing.outings.safety.tethers import trips_in_time
from routing.outings.told.findings import sorted_outing_findings
from routing.outings.told.results import OutingFinding
from routing.outings.told.warned_ways import warned_on_ways
from routing.outings.translations import Trip
from structures.findings import Finding
from tests.routing.outings.outing_plans import act, planned


def with_left(trip: Trip, act_id: str, left_m: float) -> Trip:
    """Return a way on which the hands have so much reach left."""
    assert trip.route is not None
    assert trip.route.margins.gap is not None
    gap = replace(trip.route.margins.gap, fails_from_grip=f"{act_id}@1", fails_to_grip="H9@2")
    thin = Finding(
        code="gap-near-reach",
        severity="warns",
        message=f"{1000 * left_m:.0f} mm are left",
        value=left_m,
        limit=0.0254,
        unit="m",
    )
    margins = replace(trip.route.margins, gap=gap)
    return replace(trip, act=act_id, route=replace(trip.route, margins=margins, findings=(thin,)))


def test_the_least_margin_stands_first_and_one_of_nothing_is_said(tmp_path: Path) -> None:
    plan = planned(tmp_path, act("a", "EV1", "work", at="W1"))
    ((_, _, trip),) = trips_in_time(plan.schedule, "EV1")
    left_m = {"first": 0.0079, "second": 0.0, "third": 0.0251, "fourth": 0.0031}
    trips = [
        (60.0 * number, with_left(trip, name, m)) for number, (name, m) in enumerate(left_m.items())
    ]
    (said,) = warned_on_ways("EV1", trips)
    assert (said.act, said.at_s, said.value) == ("second", 60.0, 0.0)
    assert said.message == (
        "on the way of EV1 to second (at 0:01), from second@1 to H9@2: 0 mm are left; also on the "
        "way to fourth (3 mm), first (7 mm), third (25 mm)"
    )


def test_of_thin_margins_the_least_comes_first_whenever_it_is() -> None:
    thin = OutingFinding(
        code="corridor-tight", severity="warns", at_s=9.0, message="m", remedy="r", value=0.0
    )
    wider = replace(thin, code="gap-near-reach", at_s=1.0, value=0.01)
    other = replace(thin, code="people-too-near", at_s=0.0, value=0.2)
    grave = replace(thin, code="no-way-home-in-tow", value=2.0)
    assert sorted_outing_findings([other, wider, thin, grave]) == (grave, thin, wider, other)


def test_the_place_of_the_tightest_corridor_is_said(tmp_path: Path) -> None:
    plan = planned(tmp_path, act("a", "EV1", "work", at="W1"))
    ((_, _, trip),) = trips_in_time(plan.schedule, "EV1")
    assert trip.route is not None
    tight = trip.route.margins.clearance
    assert tight is not None
    (said,) = [one for one in plan.answer.findings if one.code == "corridor-tight"]
    assert said.value == tight.clearance_m
    assert f", at {tight.from_grip} to {tight.to_grip}: the body corridor" in said.message
