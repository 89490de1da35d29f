"""Foot restraints on the station example: what was built into it on purpose."""

from pathlib import Path

import pytest

from routing.graph.situation import Situation
from routing.worksites.restraints.at_worksite import restraint_reach, restraint_verdict
from routing.worksites.restraints.records import BodyReach, WorksiteRestraint
from structures.elements import Worksite
from structures.files import read_structure
from structures.model import Structure

STATION = Path(__file__).parents[3] / "examples" / "station" / "station.toml"


@pytest.fixture(scope="module")
def station() -> Structure:
    return read_structure(STATION)


def asked(station: Structure, worksite_id: str) -> WorksiteRestraint:
    worksite = station.find(worksite_id, (Worksite,))
    assert isinstance(worksite, Worksite)
    return restraint_reach(station, worksite, Situation())


def verdict_on(station: Structure, worksite_id: str) -> WorksiteRestraint:
    worksite = station.find(worksite_id, (Worksite,))
    assert isinstance(worksite, Worksite)
    return restraint_verdict(station, worksite, Situation())


def bodies(found: WorksiteRestraint, socket: str, restraint: str) -> dict[str, BodyReach]:
    (one,) = (o for o in found.sockets if (o.socket, o.restraint) == (socket, restraint))
    return {body.body: body for body in one.bodies}


def test_only_a_few_of_all_settings_work_at_the_airlock_shoulder(station: Structure) -> None:
    found = asked(station, "WD01")
    assert (found.verdict, found.socket) == ("ok", "SK16")
    assert found.able == ("BD01", "BD02", "BD03")
    plain, elbow = (bodies(found, "SK16", name) for name in ("FRD01", "FRD02"))
    assert {name: one.working for name, one in plain.items()} == {"BD01": 4, "BD02": 4, "BD03": 8}
    assert {name: one.working for name, one in elbow.items()} == {"BD01": 5, "BD02": 7, "BD03": 15}
    fails = {one.check: (one.settings, one.of) for one in plain["BD02"].fails}
    # Nearly all settings leave it out of reach or out of view; of the rest a few are in the way.
    assert fails["too far"] == (8776, 9360)
    assert fails["out of view"] == (7786, 9360)
    assert "seen too obliquely" in fails


def test_only_a_long_arm_reaches_both_connectors_at_the_workshop_root(station: Structure) -> None:
    found = asked(station, "WD02")
    assert found.verdict == "some bodies"
    assert found.able == ("BD03",)
    plain = bodies(found, "SK19", "FRD01")
    assert [plain[name].working for name in ("BD01", "BD02", "BD03")] == [0, 0, 2]
    short = plain["BD01"].nearest
    assert short is not None
    assert (short.limited_by, short.target) == ("too far", "WD02-T2")
    assert short.margin_m == pytest.approx(-0.168, abs=0.001)


def test_no_body_is_asked_to_see_a_target_from_the_wrong_side(station: Structure) -> None:
    found = asked(station, "W20")
    assert found.verdict == "no setting"
    assert "W20-T2" in (found.reason or "")


def test_most_worksites_can_be_done_from_their_own_socket(station: Structure) -> None:
    short = {one: verdict_on(station, one) for one in ("W08", "W24", "W10")}
    assert {one: found.verdict for one, found in short.items()} == {
        "W08": "no setting",
        "W24": "ok",
        "W10": "not asked",
    }
    assert short["W08"].able == ()
    assert short["W24"].restraint == "FRD02"
