"""Safety over the time of an outing: time home, and who is near whom on one handrail."""

from itertools import pairwise
from pathlib import Path

import pytest

from routing.outings.plan import PlannedOuting, work_out
from routing.outings.plan_file.reader import read_outing
from routing.outings.safety.home_times import TOW_WITHIN_S
from routing.outings.safety.home_watch import home_curve
from routing.outings.safety.moments import moments_of
from routing.outings.translations import Ground, kit_of
from routing.paths.home.homeward import HomeGround, NoWayHomeError, home_from
from tests.routing.outings.outing_plans import HEAD, act, planned

STATION = Path(__file__).parents[3] / "examples" / "station" / "outing.toml"


@pytest.fixture(name="station", scope="module")
def station_outing() -> PlannedOuting:
    document = read_outing(STATION)
    ground = Ground(document.structure, document.outing, document.limits)
    return work_out(document.outing, ground)


def test_moments_follow_each_other(station: PlannedOuting) -> None:
    for person in station.outing.people:
        moments = moments_of(station.schedule, station.ground, station.stock, person.id)
        assert all(one.at_s <= following.at_s + 1e-6 for one, following in pairwise(moments))
        assert all(one.state is not None and one.state.grip == one.grip for one in moments)
        assert moments[-1].state is not None
        assert len(moments[-1].state.stack) == 1


@pytest.mark.parametrize("person", ["EV1", "EV2"])
def test_times_home_are_those_of_single_searches(station: PlannedOuting, person: str) -> None:
    ground = station.ground
    planned_as = next(one for one in station.outing.people if one.id == person)
    moments = moments_of(station.schedule, ground, station.stock, person)
    curve = home_curve(station.schedule, ground, person, moments)
    towing = HomeGround(
        graph=ground.tow_graph(person, ()),
        protocol="reel",
        kit=kit_of(planned_as, ground.limits),
        hatch="hatch",
        leave=True,
    )
    for moment, point in list(zip(moments, curve.points, strict=True))[::17]:
        assert moment.state is not None
        alone = HomeGround(
            graph=ground.graph(person, moment.carry, ()),
            protocol="reel",
            kit=kit_of(planned_as, ground.limits),
            hatch="hatch",
        )
        if point.how == "with all":
            home = home_from(alone, moment.state)
            assert point.home_s == pytest.approx(home.seconds + moment.get_out_s)
        try:
            tow_s = home_from(towing, moment.state).seconds + moment.get_out_s
            tow_s += ground.limits.transfer_s  # the partner is hooked on, and lets go
        except NoWayHomeError:
            assert point.tow_s is None
            continue
        assert point.tow_s is not None
        assert point.tow_s >= tow_s - 1e-6
        if point.tow_exact:
            assert point.tow_s == pytest.approx(tow_s)
    searched = [one.tow_s for one in curve.points if one.tow_exact and one.tow_s is not None]
    every = [one.tow_s for one in curve.points if one.tow_s is not None]
    out = max(moment.get_out_s for moment in moments)
    assert max(every) <= max(searched) + TOW_WITHIN_S + out


def test_feet_in_a_restraint_come_out_first(station: PlannedOuting) -> None:
    moments = moments_of(station.schedule, station.ground, station.stock, "EV1")
    inside = {one.act for one in moments if one.get_out_s}
    assert {"ev1-in", "unbolt", "bolt", "ev1-out"} <= inside
    assert not inside & {"r1-set-up", "r1-take"}


def home_findings(tmp_path: Path, limit_s: float) -> list[tuple[str, str | None]]:
    limits = tmp_path / "limits.toml"
    limits.write_text(
        f'schema_version = 1\nlength_unit = "m"\ntime_home_limit_s = {limit_s}\n', encoding="utf-8"
    )
    head = HEAD.replace('name = "Test"', f'name = "Test"\nlimits = "{limits}"')
    answer = planned(tmp_path, act("k", "EV1", "work", at="W1"), head=head).answer
    return [(one.code, one.act) for one in answer.findings if one.code.startswith("home-")]


def test_too_late_home_blocks_with_the_act(tmp_path: Path) -> None:
    assert home_findings(tmp_path, 600.0) == []
    assert ("home-too-late", "k") in home_findings(tmp_path, 30.0)


def near_codes(tmp_path: Path, *parts: str) -> list[tuple[str, str | None]]:
    answer = planned(tmp_path, *parts).answer
    return [(one.code, one.act) for one in answer.findings if one.code == "people-too-near"]


def test_two_at_one_handrail_at_once_are_warned_of(tmp_path: Path) -> None:
    together = [act("a", "EV1", "work", at="W1"), act("b", "EV2", "work", at="W1")]
    assert near_codes(tmp_path, *together) == [("people-too-near", "b")]
    later = [
        act("a", "EV1", "work", at="W1"),
        act("home", "EV1", "move", at="hatch", way="recover"),
        act("wait", "EV2", "wait", after=["home"]),
        act("b", "EV2", "work", at="W1"),
    ]
    assert near_codes(tmp_path, *later) == []


def test_going_to_something_together_is_meant(tmp_path: Path) -> None:
    assert near_codes(tmp_path, act("a", "EV1+EV2", "work", at="W1")) == []


def test_the_latest_moment_to_turn_home_leaves_time_for_everything_after(
    station: PlannedOuting,
) -> None:
    limits, blocks = station.outing.outing_limits, station.outing.blocks
    after_s = 60 * (blocks.ingress_min + blocks.before_repress_min)
    for curve in station.answer.home:
        for point in curve.points:
            assert point.home_s is not None
            assert point.latest_turn_s is not None
            done_s = point.latest_turn_s + point.home_s + after_s
            assert done_s == pytest.approx(60 * limits.consumables_min)
            assert point.latest_turn_s > point.at_s
