"""Foot restraints at a worksite: hand-worked places, verdicts and their reasons."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.limits import DEFAULT_LIMITS
from routing.worksites.restraints.at_worksite import restraint_reach, restraint_verdict
from routing.worksites.restraints.checks import ROOM_SEEN_M, _links_room
from routing.worksites.restraints.poses import links_m, plate_poses, setting_of
from routing.worksites.restraints.records import SettingRow, WorksiteRestraint
from routing.worksites.restraints.verdict import margin_text, shortfall_text
from structures.bodies import Body
from structures.built_in import (
    BUILT_IN_BODIES,
    BUILT_IN_SOURCES,
    built_in_bodies,
    built_in_restraints,
)
from structures.elements import Handrail, Person, Socket, Solid, Target, Worksite
from structures.errors import UnknownIdError
from structures.model import Structure
from structures.restraints import Joint, Restraint
from structures.shapes import Box
from tests.routing.worksites.restraint_ground import (
    COARSE,
    DECK,
    FIXED,
    ON_WALL,
    SOCKET,
    WALL,
    deck,
)


def number_of(restraint: Restraint, clock: int, *joints_deg: float) -> int:
    settings = (setting_of(restraint, i) for i in range(restraint.settings))
    return next(
        i for i, one in enumerate(settings) if (one.clock, one.joints_deg) == (clock, joints_deg)
    )


def test_plate_places_worked_by_hand() -> None:
    """Links of 0.2 m to pitch and to yaw, 0.1 m on to the plate; s, c = sin, cos of 30 deg."""
    poses = plate_poses(COARSE, SOCKET)
    s, c = 0.5, np.sqrt(3) / 2

    def at(*setting: float) -> tuple[list[float], list[list[float]]]:
        i = number_of(COARSE, int(setting[0]), *setting[1:])
        forward_left_up = poses.axes[i].T
        return poses.place_m[i].tolist(), forward_left_up.tolist()

    # All at zero: straight up, toes to clock zero.
    place, (forward, left, up) = at(0, 0.0, 0.0)
    assert place == pytest.approx([0.0, 0.0, 0.5])
    assert (forward, left, up) == ([1, 0, 0], [0, 1, 0], [0, 0, 1])
    # Pitch 30 about y leans forward: the upper 0.3 m goes by 0.3 s ahead and 0.3 c up.
    place, (forward, left, up) = at(0, 30.0, 0.0)
    assert place == pytest.approx([0.3 * s, 0.0, 0.2 + 0.3 * c])
    assert up == pytest.approx([s, 0.0, c])
    assert forward == pytest.approx([c, 0.0, -s])
    # Clock 1 of 4 is a quarter clockwise seen from above: from +x to -y.
    place, (forward, left, up) = at(1, 30.0, 0.0)
    assert place == pytest.approx([0.0, -0.3 * s, 0.2 + 0.3 * c])
    assert left == pytest.approx([1.0, 0.0, 0.0])
    # Yaw 60 turns left about the body's own axis and moves nothing.
    place, (forward, left, up) = at(0, 0.0, 60.0)
    assert place == pytest.approx([0.0, 0.0, 0.5])
    assert forward == pytest.approx([s, c, 0.0])
    # Yaw after pitch turns about the leaning axis, not about the normal.
    place, (forward, left, up) = at(0, 30.0, -180.0)
    assert up == pytest.approx([s, 0.0, c])
    assert forward == pytest.approx([-c, 0.0, s])


@pytest.mark.parametrize(("off_m", "cut"), [(0.0, True), (0.2, False)])
@pytest.mark.parametrize("restraint", [FIXED, COARSE])
def test_a_thin_plate_through_a_link_bars_the_setting(
    restraint: Restraint, off_m: float, *, cut: bool
) -> None:
    """Straight up, the one link of FIXED and the first of COARSE go through the plate."""
    high_m = 0.3 if restraint is FIXED else 0.1
    box = Box(center_m=(-off_m, 0.0, high_m), size_m=(0.04, 0.04, 0.001))
    structure = deck(solids=(DECK, WALL, Solid(id="plate", volume=box)), restraints=(restraint,))
    poses = plate_poses(restraint, SOCKET)
    around = survey(structure, Situation())
    straight = number_of(restraint, 0, *(0.0 for _ in restraint.joints))
    room_m, nearest = _links_room(around.placed.tables, poses.take(np.array([straight])))
    assert (room_m[0] < 0) == cut
    assert (nearest[0] >= 0) == cut


def test_clock_zero_is_taken_at_right_angles_to_the_normal() -> None:
    leaning = SOCKET.model_copy(update={"clock_zero": (1.0, 0.0, 5.0)})
    assert np.allclose(plate_poses(COARSE, leaning).axes, plate_poses(COARSE, SOCKET).axes)
    along = SOCKET.model_copy(update={"clock_zero": (0.0, 0.0, 2.0)})
    with pytest.raises(ValueError, match="clock zero of socket S1 is along its normal"):
        plate_poses(COARSE, along)


def ask(
    structure: Structure, situation: Situation | None = None, **options: Any
) -> WorksiteRestraint:
    (worksite,) = structure.worksites
    return restraint_reach(structure, worksite, situation or Situation(), **options)


def test_a_wall_within_reach_is_ok_for_all() -> None:
    found = ask(deck())
    assert (found.verdict, found.safe, found.reason) == ("ok", True, None)
    assert found.able == found.bodies == BUILT_IN_BODIES
    assert found.socket == "S1"
    assert found.restraint == "coarse"
    least = min(one.best[0].margin_m for one in found.sockets[0].bodies)
    assert found.margin_m == least > 0
    for body in found.sockets[0].bodies:
        margins = [row.margin_m for row in body.best]
        assert margins == pytest.approx(sorted(margins, reverse=True), abs=1e-9)
        assert body.settings == COARSE.settings == 4 * 5 * 6
        assert all(0 < count.settings <= count.of <= body.settings for count in body.fails)


def far(body: Body, more_m: float) -> Body:
    reach_m = body.one_hand_farthest_m + more_m
    return body.model_copy(update={"one_hand_farthest_m": reach_m})


def test_only_a_longer_arm_serves() -> None:
    """Whoever cannot reach it makes the verdict, since who goes is not known."""
    target = Target(id="T1", position_m=(0.5, 0.1, 2.4), facing=(-1.0, 0.0, 0.0))
    body = built_in_bodies()[0]
    one = body.model_copy(update={"id": "short", "one_hand_farthest_m": 0.45})
    long = body.model_copy(update={"id": "long", "one_hand_farthest_m": 0.95})
    found = ask(deck(target, bodies=[one, long]))
    assert found.verdict == "some bodies"
    assert found.able == ("long",)
    assert not found.safe
    assert found.body == "short"
    assert found.margin_m is not None
    assert found.margin_m < 0
    assert "only for long" in (found.reason or "")
    assert "too far (target T1) by" in (found.reason or "")
    # With a person whose body is known, only that body is asked about.
    tall = Person(id="EV1", body="long")
    assert ask(deck(target, bodies=[one, long]), Situation(person=tall)).verdict == "ok"
    assert ask(deck(target, bodies=[one, long]), body="long").verdict == "ok"
    assert ask(deck(target, bodies=[one, long]), body="short").verdict == "no setting"


def test_what_is_missing_is_said_with_the_nearest_setting() -> None:
    """Straight up, arms ahead: the shortfall of the best setting is distance less reach."""
    body = built_in_bodies()[0]
    high_m = 0.5 + body.shoulder_height_m
    target = Target(id="T1", position_m=(1.3, 0.19, high_m), facing=(-1.0, 0.0, 0.0))
    found = ask(deck(target, bodies=[body], restraints=[FIXED], solids=[DECK]))
    assert found.verdict == "no setting"
    assert found.setting is not None
    assert found.setting.limited_by == "too far"
    assert found.margin_m == pytest.approx(body.one_hand_farthest_m - 1.3)


def test_hidden_targets_have_no_number() -> None:
    inside = Target(id="T1", position_m=(0.7, 0.1, 1.85), facing=(-1.0, 0.0, 0.0))
    found = ask(deck(inside))
    assert found.verdict == "no setting"
    assert found.margin_m is None
    assert "hidden" in (found.reason or "")
    counts = {one.check: one for one in found.sockets[0].bodies[0].fails}
    assert counts["hidden from the helmet"].settings == counts["hidden from the helmet"].of > 0


@pytest.mark.parametrize(
    ("deep_m", "seen"),
    [(-0.003, True), (0.0, True), (0.003, True), (0.0049, True), (0.0051, False), (0.02, False)],
)
def test_a_target_on_the_skin_is_seen_and_one_below_is_not(deep_m: float, *, seen: bool) -> None:
    """The stated tolerance is 5 mm; below that it fails closed."""
    target = Target(id="T1", position_m=(0.5 + deep_m, 0.1, 1.85), facing=(-1.0, 0.0, 0.0))
    assert (ask(deck(target)).verdict == "ok") == seen


def test_a_line_through_the_seam_of_two_solids_is_blocked() -> None:
    """The socket stands in a slit that is closed by two boxes face to face."""
    left = WALL.model_copy(
        update={
            "id": "left",
            "volume": WALL.volume.model_copy(
                update={"center_m": (0.7, 1.02, 1.0), "size_m": (0.4, 1.66, 5.0)}
            ),
        }
    )
    right = left.model_copy(
        update={
            "id": "right",
            "volume": left.volume.model_copy(
                update={"center_m": (0.7, -0.64, 1.0), "size_m": (0.4, 1.66, 5.0)}
            ),
        }
    )
    body = built_in_bodies()[2].model_copy(
        update={"one_hand_farthest_m": 1.4, "shoulder_out_m": 0.19}
    )
    high_m = 0.5 + body.shoulder_height_m
    target = Target(id="T1", position_m=(1.2, 0.19, high_m), facing=(-1.0, 0.0, 0.0))
    for solids, hidden in (((left,), False), ((left, right), True)):
        found = ask(deck(target, solids=solids, bodies=[body], restraints=[FIXED]))
        checks = {one.check for one in found.sockets[0].bodies[0].fails}
        assert ("hidden from the shoulder" in checks) == hidden


def test_closed_sockets_do_not_serve() -> None:
    found = ask(deck(), Situation(closed=("S1",)))
    assert found.verdict == "no setting"
    assert "socket S1 is closed" in (found.reason or "")


def test_another_socket_may_serve() -> None:
    away = Socket(id="S0", position_m=(-3.0, 0, 0), normal=(0, 0, 1), clock_zero=(1, 0, 0))
    structure = deck()
    site = structure.worksites[0].model_copy(update={"socket": "S0"})
    moved = structure.model_copy(update={"sockets": (away, SOCKET), "worksites": (site,)})
    found = ask(moved)
    assert found.verdict == "another socket"
    assert not found.safe
    assert found.socket == "S1"
    assert "socket S1 serves" in (found.reason or "")
    # On a handrail there is no socket of its own, so any serves.
    rail = Handrail(id="H1", points_m=((0, 1, 0), (1, 1, 0)), normal=(0, 0, 1))
    site = Worksite(id="W1", handrail="H1", place_m=(0, 1, 0), targets=(ON_WALL,))
    found = ask(moved.model_copy(update={"handrails": (rail,), "worksites": (site,)}))
    assert (found.verdict, found.socket) == ("ok", "S1")


def test_no_socket_near_says_how_far_too_far() -> None:
    rail = Handrail(id="H1", points_m=((0, 1, 0), (1, 1, 0)), normal=(0, 0, 1))
    far_off = Target(id="T1", position_m=(30.0, 0, 0), facing=(0, 0, 1))
    site = Worksite(id="W1", handrail="H1", place_m=(0, 1, 0), targets=(far_off,))
    structure = deck().model_copy(update={"handrails": (rail,), "worksites": (site,)})
    found = ask(structure)
    assert found.verdict == "no setting"
    large = built_in_bodies()[2]
    reach_m = 0.5 + np.hypot(large.shoulder_height_m, 0.19) + large.one_hand_farthest_m
    assert f"S1 is the nearest, and its farthest target is {30 - reach_m:.2f} m beyond" in (
        found.reason or ""
    )


@pytest.mark.parametrize(
    ("rating_n", "rating_nm"), [(None, 500.0), (1300.0, None), (1200.0, 500.0), (1300.0, 470.0)]
)
def test_unrated_restraints_never_serve(rating_n: float | None, rating_nm: float | None) -> None:
    weak = COARSE.model_copy(update={"rating_n": rating_n, "rating_nm": rating_nm})
    found = ask(deck(restraints=[weak]))
    assert found.verdict == "unknown"
    assert not found.safe
    assert "1219 N and 475 N m" in (found.reason or "")
    strong = COARSE.model_copy(update={"id": "strong"})
    found = ask(deck(restraints=[weak, strong]))
    assert (found.verdict, found.restraint) == ("ok", "strong")


def test_worksites_without_targets_ask_for_nothing() -> None:
    structure = deck()
    site = structure.worksites[0].model_copy(update={"targets": ()})
    found = restraint_verdict(structure, site, Situation())
    assert (found.verdict, found.safe) == ("nothing to reach", True)


def test_a_socket_without_clock_zero_is_said() -> None:
    along = SOCKET.model_copy(update={"clock_zero": (0.0, 0.0, 1.0)})
    found = ask(deck().model_copy(update={"sockets": (along,)}))
    assert found.verdict == "no setting"
    assert "no clock position is known" in (found.reason or "")


def test_the_short_answer_is_the_long_one_in_short() -> None:
    structure = deck()
    long = ask(structure)
    short = restraint_verdict(structure, structure.worksites[0], Situation())
    for key in ("verdict", "margin_m", "socket", "restraint", "body", "setting", "able", "reason"):
        assert getattr(short, key) == getattr(long, key)
    assert short.sockets == ()


def test_built_in_data_is_said_to_be_used() -> None:
    bare = deck().model_copy(update={"restraints": (), "bodies": ()})
    codes = {finding.code for finding in ask(bare).findings}
    assert codes == {"built-in-restraint", "built-in-bodies"}
    assert ask(deck()).findings == ()
    nobody = Situation(person=Person(id="EV1"))
    assert [one.code for one in ask(deck(), nobody).findings] == ["body-not-known"]


def test_unknown_bodies_are_refused() -> None:
    with pytest.raises(UnknownIdError, match="no body has the id 'giant'"):
        ask(deck(), body="giant")


def test_built_in_numbers_have_sources_and_go_up() -> None:
    (restraint,) = built_in_restraints()
    fields = {*Body.model_fields, *Restraint.model_fields} - {"id", "name", "notes", "source"}
    assert set(BUILT_IN_SOURCES) == fields - {"shoulder_forward_m"}
    assert restraint.rating_n == DEFAULT_LIMITS.restraint_load_n == pytest.approx(1218.8, abs=0.05)
    assert restraint.rating_nm == pytest.approx(474.5, abs=0.05)
    small, middle, large = built_in_bodies()
    assert tuple(sorted(body.id for body in (small, middle, large))) == BUILT_IN_BODIES
    assert small.height_m == pytest.approx(1.715, abs=6e-4)
    assert large.height_m == pytest.approx(1.918, abs=6e-4)
    for name in ("height_m", "shoulder_height_m", "eye_height_m", "one_hand_farthest_m"):
        assert getattr(small, name) < getattr(middle, name) < getattr(large, name)


def test_a_restraint_arm_through_the_legs_does_not_work() -> None:
    """Folded straight back on itself, the arm stands where the legs are."""
    folded = Joint(
        id="elbow",
        axis=(0, 1, 0),
        lowest_deg=180,
        highest_deg=180,
        step_deg=1,
        offset_m=(0.0, 0.0, 1.2),
    )
    arm = FIXED.model_copy(update={"joints": (folded,), "plate_offset_m": (0.0, 0.0, 0.6)})
    turned = Joint(
        id="tip",
        axis=(0, 1, 0),
        lowest_deg=180,
        highest_deg=180,
        step_deg=1,
        offset_m=(0.0, 0.0, 0.6),
    )
    back_up = arm.model_copy(update={"joints": (folded, turned), "plate_offset_m": (0.0, 0.0, 0.1)})
    found = ask(deck(restraints=[back_up], solids=[DECK], bodies=built_in_bodies()[2:]))
    # Feet 0.7 m above the socket, and the first link, 1.2 m long, in the middle of the legs.
    assert found.verdict == "no setting"
    for one in found.sockets[0].bodies:
        assert [(count.check, count.settings) for count in one.fails][-1] == (
            "restraint in the way",
            1,
        )
        assert one.nearest is not None
        assert one.nearest.margin_m == pytest.approx(-0.2)
    assert found.setting is not None
    assert found.setting.limited_by == "restraint in the way"


def test_the_chain_of_one_setting_is_that_of_all() -> None:
    poses = plate_poses(COARSE, SOCKET)
    for number in (0, 7, 50, 119):
        points_m, axes = links_m(COARSE, SOCKET, setting_of(COARSE, number))
        assert np.allclose(points_m[:-1], poses.joints_m[:, number])
        assert np.allclose(points_m[-1], poses.place_m[number])
        assert np.allclose(axes, poses.axes[number])


@pytest.mark.parametrize(("off_m", "near"), [(0.60, True), (0.62, False)])
def test_what_must_not_be_kicked_near_the_boots_is_said(off_m: float, *, near: bool) -> None:
    """SSP 30256:001 Rev F table 3.1.3-1: within 24 in (0.6096 m) of where people work."""
    # Boots of 0.15 m radius, 0.55 m up, lie along x; the box beside them is as high.
    side_m = 0.15 + off_m
    box = Box(center_m=(0.0, side_m + 0.1, 0.55), size_m=(0.2, 0.2, 0.2))
    fuse = Solid(id="fuse", volume=box, kick_sensitive=True)
    structure = deck(restraints=[FIXED], solids=[DECK, WALL, fuse], bodies=built_in_bodies()[:1])
    target = Target(id="T1", position_m=(0.45, 0.0, 1.85), facing=(-1.0, 0.0, 0.0))
    site = structure.worksites[0].model_copy(update={"targets": (target,)})
    structure = structure.model_copy(update={"worksites": (site,)})
    found = ask(structure)
    assert found.able, found.reason
    short = restraint_verdict(structure, site, Situation())
    assert short.findings == found.findings
    codes = [finding.code for finding in found.findings]
    assert codes == (["kick-sensitive-near-boots"] if near else [])
    if near:
        assert found.findings[0].elements == ("fuse", "S1")
        assert found.findings[0].value == pytest.approx(off_m, abs=1e-3)


def test_texts_say_what_a_length_is_of() -> None:
    row = SettingRow(clock=0, joints_deg={}, limited_by="too far", target="T1", margin_m=-0.53)
    assert shortfall_text(row).startswith("too far (target T1) by 0.530 m")
    assert "arc" not in shortfall_text(row)
    slant = replace(row, limited_by="seen too obliquely")
    assert shortfall_text(slant).endswith(" of arc at the target")
    # Nothing near: the links are near to whoever stands on them, or all is farther off.
    links = SettingRow(clock=0, joints_deg={}, limited_by="restraint in the way", margin_m=0.009)
    assert margin_text(links).endswith(
        "(next limit: restraint in the way, of the person's own legs or trunk)"
    )
    assert "or more" in margin_text(replace(links, margin_m=ROOM_SEEN_M))
    beam = replace(links, near="beam")
    assert margin_text(beam).endswith("(next limit: restraint in the way, beam)")
