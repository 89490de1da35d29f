"""Zones that come into force while somebody, or a line, is there: by the clock.

On the small example the condition venting keeps bodies and lines away from handrail H03.
"""

import re
from pathlib import Path

from routing.outings.plan import work_out
from routing.outings.plan_file.reader import read_outing
from routing.outings.safety.zone_watch import conditions_by_clock
from routing.outings.translations import Ground
from structures.elements import Zone
from structures.shapes import Sphere
from tests.routing.outings.outing_plans import HEAD, act, planned, write_plan

THERE = act("there", "EV1", "work", at="H03@0.686")
STAYS = act("stays", "EV1", "work", minutes=6)
ZONES = {"zone-in-force", "line-in-zone"}


def vent(after: str) -> str:
    return act("vent", "ground", "action", sets=["venting"], after=[after], minutes=3)


def zones(folder: Path, *parts: str) -> list[tuple[str, str | None, float | None]]:
    answer = planned(folder, *parts).answer
    return [(one.code, one.act, one.at_s) for one in answer.findings if one.code in ZONES]


def test_who_is_there_when_it_comes_into_force_is_found(tmp_path: Path) -> None:
    plan = planned(tmp_path, THERE, vent("there"), STAYS)
    begins_s = plan.schedule.start_s("vent")
    found = zones(tmp_path, THERE, vent("there"), STAYS)
    assert ("zone-in-force", "stays", begins_s) in found
    (finding,) = [one for one in plan.answer.findings if one.code == "zone-in-force"]
    assert finding.severity == "blocks"
    assert finding.elements == ("H03@0.686", "venting")


def test_a_line_that_lies_there_is_found(tmp_path: Path) -> None:
    away = act("away", "EV1", "move", at="W2")
    parts = [THERE, away, vent("away"), act("k", "EV1", "work", minutes=6)]
    begins_s = planned(tmp_path, *parts).schedule.start_s("vent")
    assert zones(tmp_path, *parts) == [("line-in-zone", "k", begins_s)]
    back = act("back", "EV1", "move", at="hatch", way="recover")
    assert zones(tmp_path, THERE, back, vent("back"), act("k", "EV1", "wait", minutes=6)) == []


def test_a_line_from_its_tether_point_to_the_first_hold_counts(tmp_path: Path) -> None:
    """The reel hangs on TP1, 0.3 m from the hatch: a ball between the two, clear of every move."""
    parts = [act("k", "EV1", "work", at="W1"), vent("k"), act("on", "EV1", "work", minutes=6)]
    document = read_outing(write_plan(tmp_path, *parts))
    structure = document.structure
    between_m = (16.25 * 0.0254, 0.0, -62.25 * 0.0254)

    def found(when: str) -> set[tuple[str | None, str]]:
        zone = Zone.model_construct(
            id="Z9",
            kind="keep-out",
            volume=Sphere(center_m=between_m, radius_m=0.03),
            applies_to=("tether",),
            when=(when,),
        )
        changed = structure.model_copy(update={"zones": (*structure.zones, zone)})
        ground = Ground(changed, document.outing, document.limits)
        answer = work_out(document.outing, ground).answer
        assert {one.code for one in answer.findings} & ZONES == {"line-in-zone"}
        return {(f.person, f.elements[0]) for f in answer.findings if f.code == "line-in-zone"}

    # EV2 waits at the hatch on a line of the same kind; the vent itself is 0.63 m along H03.
    assert found("venting") == {("EV1", "hatch"), ("EV2", "hatch"), ("EV1", "H03@0.457")}
    assert found("another") == {("EV1", "H03@0.457")}


def test_nobody_there_before_or_after_is_nothing(tmp_path: Path) -> None:
    elsewhere = act("k", "EV1", "work", at="H01", minutes=6)
    assert zones(tmp_path, elsewhere, vent("k")) == []


def test_what_is_cleared_is_over(tmp_path: Path) -> None:
    parts = [
        THERE,
        vent("there"),
        act("shut", "ground", "action", clears=["venting"], minutes=2),
    ]
    plan = planned(tmp_path, *parts)
    (one,) = conditions_by_clock(plan.schedule)
    assert (one.condition, one.act) == ("venting", "vent")
    assert one.start_s == plan.schedule.start_s("vent")
    assert one.end_s == plan.schedule.end_s("shut")
    (never_over,) = conditions_by_clock(planned(tmp_path, *parts[:2]).schedule)
    assert never_over.end_s == planned(tmp_path, *parts[:2]).schedule.acts_end_s


def test_the_condition_that_shuts_a_way_and_the_way_home_is_named(tmp_path: Path) -> None:
    """A ball over H01, between the hatch and all else, that counts under venting."""
    parts = [
        act("far", "EV1", "work", at="W1"),
        vent("far"),
        act("stays", "EV1", "work", minutes=6),
        act("home", "EV1", "move", at="hatch"),
    ]
    document = read_outing(write_plan(tmp_path, *parts))
    structure = document.structure
    hold = next(one for one in structure.handrails if one.id == "H01").points_m[0]
    zone = Zone.model_construct(
        id="Z9",
        kind="keep-out",
        volume=Sphere(center_m=hold, radius_m=0.6),
        when=("venting",),
        applies_to=("body",),
    )
    shut = structure.model_copy(update={"zones": [*structure.zones, zone]})
    plan = work_out(document.outing, Ground(shut, document.outing, document.limits))
    said = {one.code: one for one in plan.answer.findings if one.severity == "blocks"}
    named = "it is there without venting (zone Z2, Z9; vent begins it at 0:0"
    for code in ("no-way", "no-way-home"):
        assert named in said[code].message
        assert "let vent wait" in said[code].remedy
        assert {"venting", "Z9"} <= {*said[code].elements}
    assert "gripway route" not in said["no-way"].message


def test_why_a_handrail_is_closed_that_the_plan_leaves_open_is_said(tmp_path: Path) -> None:
    loose = act("tug", "ground", "action", sets=["rail-loose"])
    answer = planned(tmp_path, act("w", "EV1", "work", at="H01"), loose).answer
    assert answer.closed == ("H02",)
    assert answer.closed_because == {
        "H02": "by condition rail-loose, which tug begins; closed from the start, to be safe"
    }
    by_plan = planned(tmp_path, loose, head=f'closed = ["H02"]\n{HEAD}').answer
    assert (by_plan.closed, by_plan.closed_because) == (("H02",), None)


def test_a_site_that_a_condition_closes_names_the_condition(tmp_path: Path) -> None:
    loose = act("tug", "ground", "action", sets=["rail-loose"])
    answer = planned(tmp_path, act("w", "EV1", "move", at="H02"), loose).answer
    (stop,) = [one for one in answer.findings if one.code == "no-way"]
    assert "H02 is closed by condition rail-loose, which tug begins; closed" in stop.message
    assert "for the whole outing" in stop.message
    assert {"H02", "rail-loose"} <= {*stop.elements}
    assert stop.remedy.startswith("do without what begins rail-loose")
    by_plan = planned(
        tmp_path, act("w", "EV1", "move", at="H02"), head=f'closed = ["H02"]\n{HEAD}'
    ).answer
    (stop,) = [one for one in by_plan.findings if one.code == "no-way"]
    assert "condition" not in stop.message


def lost_way_back(tmp_path: Path, site: str, *more: str) -> str:
    go = act("go", "EV1", "work", at="W1")
    back = act("back", "EV1", "move", at=site, way="retrace")
    answer = planned(tmp_path, go, back, *more).answer
    return "".join(one.message for one in answer.findings if one.code == "no-way")


def test_a_way_back_that_conditions_shut_by_where_the_line_lies_names_them(tmp_path: Path) -> None:
    """With H02 closed the way to W1 leads round, and back along the line not over H03."""
    loose = act("tug", "ground", "action", sets=["rail-loose"])
    said = lost_way_back(tmp_path, "H03", loose)
    assert "does not come to H03" in said
    assert "it is there without what is closed for the whole outing: H02 (by condi" in said
    assert lost_way_back(tmp_path, "H03") == ""


def test_a_way_that_is_lost_all_the_same_is_not_laid_to_what_conditions_close(
    tmp_path: Path,
) -> None:
    loose = act("tug", "ground", "action", sets=["rail-loose"])
    said = lost_way_back(tmp_path, "W3", loose)
    assert "does not come to W3" in said
    assert "closed" not in said


def test_what_goes_from_hand_to_hand_is_said_from_each_side(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        act("take", "EV1", "fetch", item="pin", at="H01"),
        act("bring", "EV1", "move", at="W1"),
        act("come", "EV2", "move", at="W1"),
        act("pause", "EV1", "wait", after=["come"]),
        act("give", "EV1+EV2", "put", item="pin", into="EV2"),
        act("back", "EV1+EV2", "fetch", item="pin", out_of="EV2"),
    )
    one, other = ("\n".join(sheet.steps) for sheet in plan.answer.people)
    assert "hand pin to EV2; together [give]" in one
    assert "receive pin from EV2; together [back]" in one
    assert "receive pin from EV1; together [give]" in other
    assert "hand pin to EV1; together [back]" in other
    assert re.search(r"Go to W1 .*with pin:", one)
    # A wait that takes no time is no step.
    assert "[pause]" in {f"[{row.act}]" for row in plan.answer.run_sheet}
    assert "[pause]" not in one
    assert " with pin:" not in other
