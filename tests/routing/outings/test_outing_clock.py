"""The clock of an outing: gates, joint acts, holding still, limits, conditions and spreads."""

from itertools import pairwise
from pathlib import Path

import pytest

from routing.outings.clock.activity_plan import way_id
from routing.outings.clock.conditions import conditions_during
from routing.outings.clock.schedule import spread_s
from routing.show.charts.timeline_inputs import timeline_of
from structures.errors import InvalidDocumentError
from tests.routing.outings.outing_plans import HEAD, SMALL, act, codes, found, planned, write_plan

GATE = """
[[gates]]
id = "both"
needs = ["a", "b"]
opens = ["go"]
"""


def test_joint_acts_begin_when_the_last_one_is_there(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        act("a", "EV1", "work", minutes=9),
        act("b", "EV1+EV2", "work", minutes=5, at="H01", beside="H02"),
        act("c", "EV2", "work", minutes=1),
    )
    clock = plan.schedule
    assert clock.start_s("b") == pytest.approx(540 + plan.leg.trips["b@EV1"].seconds)
    assert clock.start_s("c") == clock.end_s("b")
    (wait,) = clock.waits
    assert (wait.person, wait.act, wait.waits_for) == ("EV2", "b", "EV1")
    assert plan.leg.sites["b", "EV2"] == "H02"


def test_a_gate_opens_when_all_is_done_and_the_ways_do_not_wait(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        GATE,
        act("a", "EV1", "work", minutes=9),
        act("b", "EV2", "work", minutes=4),
        act("go", "EV2", "work", at="W1"),
    )
    clock = plan.schedule
    assert clock.start_s("both") == clock.start_s("go") == 540.0
    assert clock.start_s(way_id("go", "EV2")) == 240.0
    assert plan.answer.milestones[0].needs == ("a", "b")
    assert clock.slack_s("b") == pytest.approx(300.0 - plan.leg.trips["go@EV2"].seconds)


def test_who_holds_still_does_nothing_else(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        act("a", "EV1", "work", minutes=3),
        act("swing", "ground", "action", minutes=7, still=["EV1", "EV2"]),
        act("b", "EV1", "work", minutes=1),
        act("c", "EV2", "work", minutes=1),
    )
    clock = plan.schedule
    assert (clock.start_s("swing"), clock.end_s("swing")) == (180.0, 600.0)
    assert clock.start_s("b") == clock.start_s("c") == 600.0
    (row,) = [row for row in plan.answer.run_sheet if row.act == "swing" and row.kind == "act"]
    assert row.who == ("ground", "EV1", "EV2")
    assert row.remarks == ("EV1, EV2 HOLD STILL",)


def test_actions_of_one_party_follow_each_other(tmp_path: Path) -> None:
    clock = planned(
        tmp_path,
        act("g1", "ground", "action", minutes=5),
        act("g2", "ground", "action", minutes=5),
        act("i1", "inside", "action", minutes=5),
        act("a", "EV1", "work", minutes=1),
    ).schedule
    assert [clock.start_s(one) for one in ("g1", "g2", "i1")] == [0.0, 300.0, 0.0]


def test_windows_of_the_clock(tmp_path: Path) -> None:
    plan = planned(tmp_path, act("a", "EV1", "work", minutes=5, no_earlier_min=20))
    assert plan.schedule.start_s("a") == 1200.0
    (wait,) = plan.schedule.waits
    assert wait.waits_for == ""
    late = act("a", "EV1", "work", minutes=5, no_later_min=4.5)
    (one,) = found(tmp_path, late)
    assert (one.code, one.value, one.limit, one.unit) == ("too-late", 5.0, 4.5, "min")
    assert codes(tmp_path, act("a", "EV1", "work", minutes=5, no_later_min=5)) == []


@pytest.mark.parametrize(
    ("minutes", "wanted"),
    [
        (390, []),
        (391, [("over-planned-length", None)]),
        (421, [("over-planned-length", None), ("over-consumables", None)]),
    ],
)
def test_planned_length_and_consumables_are_two_limits(
    tmp_path: Path, minutes: int, wanted: list[tuple[str, None]]
) -> None:
    assert codes(tmp_path, act("a", "EV1", "work", minutes=minutes)) == wanted


def test_an_act_that_only_waits_counts_as_waiting(tmp_path: Path) -> None:
    wait = act("idle", "EV1", "wait", minutes=9)
    plan = planned(tmp_path, wait, act("a", "EV1", "work", at="H01", minutes=5))
    sheet = plan.answer.people[0]
    assert (sheet.waiting_s, sheet.busy_s) == (540.0, 300.0 + sheet.moving_s)
    bars = [one for one in timeline_of(plan.outing, plan.answer).bars if one.text == "idle"]
    assert [(one.kind, one.lane, one.end_s - one.start_s) for one in bars] == [
        ("wait", "EV1", 540.0)
    ]


def test_low_usual_and_high_are_kept(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        act("t", "EV1", "fetch", item="drum", at="H01", minutes=[1, 2, 4]),
        act("lay", "EV1", "lay-cable", item="drum", at="H01", to="W3", minutes=[3, 5, 9]),
    )
    assert spread_s(plan.plan, plan.leg, "t") == (60.0, 120.0, 240.0)
    way_s = plan.leg.laying["lay", "EV1"].seconds
    assert way_s > 0
    assert spread_s(plan.plan, plan.leg, "lay") == (180 + way_s, 300 + way_s, 540 + way_s)


def test_people_who_do_not_come_back(tmp_path: Path) -> None:
    answer = planned(tmp_path, act("a", "EV1", "work", at="W1")).answer
    assert [(f.code, f.person) for f in answer.findings if f.severity != "notes"] == [
        ("not-back", "EV1"),
        ("corridor-tight", "EV1"),
        ("nothing-to-do", "EV2"),
    ]
    assert not answer.clean


def test_conditions_count_unless_the_order_says_that_they_are_over(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        act("before", "EV1", "work"),
        act("on", "ground", "action", sets=["venting"], after=["before"]),
        act("during", "EV1", "work"),
        act("off", "ground", "action", clears=["venting"]),
        act("after", "EV1", "work", after=["off"]),
        act("way-only", "EV1", "work", at="W1"),
        act("other", "EV2", "work"),
    ).plan
    during = {act.id: conditions_during(plan, act.id) for act in plan.acts}
    assert during["before"] == ()
    assert during["during"] == ("venting",)
    assert during["after"] == ()
    # Nothing ties the other person's act to the clock of the vent.
    assert during["other"] == ("venting",)
    assert conditions_during(plan, way_id("after", "EV1")) == ("venting",)
    assert conditions_during(plan, way_id("way-only", "EV1")) == ()


def test_ways_keep_clear_of_zones_that_may_be_in_force(tmp_path: Path) -> None:
    go = act("go", "EV1", "work", at="W1")
    vent = act("on", "ground", "action", sets=["venting"])
    quiet = planned(tmp_path, go).leg.trips["go@EV1"]
    venting = planned(tmp_path, vent, go).leg.trips["go@EV1"]
    assert quiet.when == ()
    assert venting.when == ("venting",)
    assert venting.seconds > quiet.seconds
    first = planned(tmp_path, vent.replace("minutes", 'after = ["go"]\nminutes'), go)
    assert first.leg.trips["go@EV1"].seconds == quiet.seconds


def test_a_rail_that_a_condition_closes_is_closed_for_the_whole_outing(tmp_path: Path) -> None:
    go = act("go", "EV1", "work", at="W1")
    loose = act("on", "ground", "action", sets=["rail-loose"], after=["go"])
    plan = planned(tmp_path, go, loose)
    assert plan.answer.closed == ("H02",)
    route = plan.leg.trips["go@EV1"].route
    assert route is not None
    assert "H02" not in {one.handrail for one in route.handrails}


def test_get_aheads_are_left_out_unless_asked_for(tmp_path: Path) -> None:
    ahead = '\n[[get_aheads]]\nid = "more"\n'
    parts = [ahead, act("a", "EV1", "work"), act("m", "EV1", "work", spare="more")]
    plan = planned(tmp_path, *parts)
    assert [one.id for one in plan.plan.acts] == ["a"]
    assert plan.answer.get_aheads_left == ("more",)


def test_blocks_of_the_plan_count(tmp_path: Path) -> None:
    head = HEAD.replace("egress_min = 0", "egress_min = 38").replace("ingress_min = 0", "", 1)
    answer = planned(tmp_path, act("a", "EV1", "work", minutes=10), head=head).answer
    assert answer.totals.total_s == pytest.approx(60 * (38 + 10 + 45))
    assert [block.source for block in answer.blocks][1] == "the plan"
    assert answer.blocks[2].source.startswith("clean-up and ingress 45 min")


def test_ties_need_tethers_that_span(tmp_path: Path) -> None:
    tie = act("t", "EV1", "tie", item="door", using=["line-1"], at="W1", attach="door")
    assert codes(tmp_path, tie) == []
    far = Path(SMALL).read_text(encoding="utf-8").replace("[350.0, 18.0", "[420.0, 18.0")
    structure = tmp_path / "far.toml"
    structure.write_text(far, encoding="utf-8")
    rails = Path(SMALL).with_name("handrails.csv")
    (tmp_path / "handrails.csv").write_bytes(rails.read_bytes())
    head = HEAD.replace(str(SMALL), str(structure))
    (one,) = found(tmp_path, tie, head=head)
    assert (one.code, one.act, one.severity) in {
        ("too-few-tethers", "t", "blocks"),
        ("tie-does-not-hold", "t", "blocks"),
    }
    plain = planned(tmp_path, tie.replace('attach = "door"\n', ""), head=head)
    (row,) = [r for r in plain.answer.run_sheet if r.act == "t" and r.kind == "act"]
    assert row.remarks == ("tether length not checked: no attach point named",)
    (note,) = [one for one in plain.answer.findings if one.code == "not-checked"]
    assert (note.act, note.severity, note.elements) == ("t", "notes", ("door",))


def test_people_on_short_tethers_have_no_stack(tmp_path: Path) -> None:
    head = HEAD.replace("reels = [1020.0, 1020.0]", 'protocol = "leapfrog"')
    plan = planned(
        tmp_path,
        act("a", "EV1", "work", at="W1"),
        act("home", "EV1", "move", at="hatch", way="recover"),
        head=head,
    )
    assert plan.answer.tethers == ()
    ways = {one.act: one for one in plan.answer.translations}
    # As worked out by hand: five changes of handrail, 60 s each, besides the way.
    assert ways["a"].seconds == pytest.approx(378.7832, abs=5e-5)
    assert ways["a"].transfers == 5
    assert ways["home"].least_left_m is None
    said = [f.code for f in plan.answer.findings if f.severity != "notes"]
    assert said == ["corridor-tight", "nothing-to-do"]


def test_ways_go_by_sites_in_order_and_back_along_the_line(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        act("a", "EV1", "work", at="W1", via=["H18"]),
        act("b", "EV1", "move", at="H18", way="retrace"),
        act("c", "EV1", "move", at="hatch", way="recover"),
    )
    ways = {one.act: one for one in plan.answer.translations}
    out, back = (ways[one] for one in ("a", "b"))
    assert [one.id for one in back.handrails][::-1] == [one.id for one in out.handrails][
        -len(back.handrails) :
    ]
    direct = planned(tmp_path, act("a", "EV1", "work", at="W1")).answer.translations[0]
    assert out.seconds > direct.seconds
    assert ways["c"].manner == "recover"


def test_planning_again_searches_only_what_a_change_touches(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from routing.outings import translations
    from routing.outings.plan import work_out
    from routing.outings.plan_file.reader import read_outing

    parts = [
        act("a", "EV1", "work", at="W1", minutes=5),
        act("b", "EV2", "work", at="W3", minutes=5),
        act("c", "EV2", "work", at="H01"),
    ]
    first = planned(tmp_path, *parts)
    searched: list[str] = []
    real = translations.route_onward

    def count(graph: object, where: object, sites: tuple[str, ...], **more: object) -> object:
        searched.append(sites[-1])
        return real(graph, where, sites, **more)

    monkeypatch.setattr(translations, "route_onward", count)
    parts[0] = parts[0].replace("5", "50")
    parts[2] = parts[2].replace("H01", "H02")
    changed = read_outing(write_plan(tmp_path, *parts)).outing
    again = work_out(changed, first.ground)
    assert searched == ["H02"]
    assert again.answer.to_document() == planned(tmp_path, *parts).answer.to_document()


def test_reels_of_two_lengths_begin_with_the_one_that_is_chosen(tmp_path: Path) -> None:
    head = HEAD.replace("reels = [1020.0, 1020.0]", "reels = [1020.0, 40.0]")
    plan = planned(
        tmp_path,
        act("a", "EV1", "work", at="W1"),
        act("home", "EV1", "move", at="hatch", way="recover"),
        head=head,
    )
    own = [one for one in plan.answer.tethers if one.person == "EV1"]
    assert [round(one.stack[0].length_m, 3) for one in own] == [25.908] * 3
    assert [[round(length_m, 3) for length_m in one.carried_m] for one in own] == [[1.016]] * 3
    assert plan.answer.translations[0].found


def test_a_grip_that_is_not_there_is_said_with_the_nearest(tmp_path: Path) -> None:
    said = r"plan.toml:\d+ acts\[0\].at: no grip has the id 'H01@9.999'.*did you mean H01@"
    with pytest.raises(InvalidDocumentError, match=said):
        planned(tmp_path, act("a", "EV1", "work", at="H01@9.999"))


def test_holding_still_is_an_act_of_its_own_too(tmp_path: Path) -> None:
    plan = planned(tmp_path, act("s", "EV1+EV2", "hold-still", minutes=3))
    (row,) = [row for row in plan.answer.run_sheet if row.act == "s"]
    assert row.who == ("EV1", "EV2")
    assert row.remarks == ("HOLD STILL", "together")


def test_inside_and_ground_wait_for_their_next_action(tmp_path: Path) -> None:
    plan = planned(
        tmp_path,
        act("a", "EV1", "work", minutes=3),
        act("g1", "ground", "action", minutes=5),
        act("g2", "ground", "action", minutes=5, after=["b"]),
        act("b", "EV1", "work", minutes=9),
        act("i1", "inside", "action", minutes=1, after=["a"]),
    )
    waits = {(w.person, w.act): (w.start_s, w.end_s, w.waits_for) for w in plan.schedule.waits}
    assert waits == {
        ("inside", "i1"): (0.0, 180.0, "a"),
        ("ground", "g2"): (300.0, 720.0, "b"),
    }
    rows = [row for row in plan.answer.run_sheet if row.kind == "wait" and row.act is not None]
    assert [(row.who, row.text) for row in rows] == [
        (("inside",), "wait for a"),
        (("ground",), "wait for b"),
    ]


def test_who_is_done_before_the_others_is_shown_to_wait(tmp_path: Path) -> None:
    """EV1 is done after 3 min, EV2 after 9: until clean-up that is no gap, but a wait."""
    answer = planned(
        tmp_path,
        act("a", "EV1", "work", minutes=3),
        act("b", "EV2", "work", minutes=9),
    ).answer
    (row,) = [row for row in answer.run_sheet if row.kind == "wait"]
    assert (row.who, row.act, row.start_s, row.end_s) == (("EV1",), None, 180.0, 540.0)
    first, second = answer.people
    assert (first.waiting_s, second.waiting_s) == (360.0, 0.0)
    assert first.steps[-1] == "0:03 Nothing more planned: wait for the others until 0:09."
    assert not any("Nothing more" in step for step in second.steps)


def test_every_person_is_accounted_for_at_every_moment(tmp_path: Path) -> None:
    """Blocks, ways, acts and waits of one person follow each other with no gap between them."""
    answer = planned(
        tmp_path,
        act("a", "EV1", "work", at="W3", minutes=3),
        act("b", "EV2", "work", minutes=9, after=["a"]),
        act("c", "EV1+EV2", "work", at="W3", beside="H02", minutes=3),
        act("d", "EV2", "work", minutes=9),
    ).answer
    for person in ("EV1", "EV2"):
        rows = sorted((row.start_s, row.end_s) for row in answer.run_sheet if person in row.who)
        for (_, end_s), (start_s, _) in pairwise(rows):
            assert start_s == pytest.approx(end_s, abs=1e-6)
        assert rows[-1][1] == pytest.approx(answer.totals.total_s)


def test_every_act_says_by_when_to_turn_home(tmp_path: Path) -> None:
    answer = planned(
        tmp_path,
        act("a", "EV1", "work", at="W3", minutes=3),
        act("b", "EV1+EV2", "work", at="W3", beside="H02", minutes=3),
    ).answer
    by = {(one.person, one.act): one for one in answer.turn_home}
    assert set(by) == {("EV1", None), ("EV1", "a"), ("EV1", "b"), ("EV2", None), ("EV2", "b")}
    for curve in answer.home:
        for act_id in {point.act for point in curve.points}:
            points = [point for point in curve.points if point.act == act_id]
            turn = by[curve.person, act_id]
            assert turn.turn_by_s == min(point.latest_turn_s for point in points)
            assert turn.from_s == points[0].at_s
            # Suits hold 7 h, and clean-up, ingress and repress take no time in these plans.
            assert turn.turn_by_s == pytest.approx(420 * 60 - max(p.home_s for p in points))
    row = next(row for row in answer.run_sheet if row.act == "b" and row.kind == "act")
    assert row.turn_by_s == min(by["EV1", "b"].turn_by_s, by["EV2", "b"].turn_by_s)
