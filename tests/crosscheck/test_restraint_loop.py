"""All settings in one computation against the plain loop over settings, bodies and targets."""

from itertools import islice

import numpy as np
import pytest

from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.worksites.restraints.checks import CHECKS, check_settings
from routing.worksites.restraints.poses import plate_poses
from routing.worksites.restraints.stages import nearest_of, sift
from structures.bodies import Body
from structures.built_in import built_in_bodies, built_in_restraints
from structures.elements import Socket, Target, Zone
from structures.restraints import Joint, Restraint
from structures.shapes import Sphere
from tests.routing.worksites.restraint_ground import (
    BOTH,
    COARSE,
    ON_WALL,
    SOCKET,
    deck,
    loop_capsules,
    loop_links_m,
    loop_margins,
    loop_poses,
    loop_room_m,
)

TILTED = Socket(
    id="S2", position_m=(0.4, -1.2, 2.0), normal=(0.3, -0.8, 0.4), clock_zero=(1.0, 0.5, 0.1)
)
SKEWED = Restraint(
    id="skewed",
    clock_positions=5,
    joints=(
        Joint(
            id="first",
            axis=(0.2, 1.0, -0.4),
            lowest_deg=-45.0,
            highest_deg=75.0,
            step_deg=40.0,
            offset_m=(0.1, -0.05, 0.2),
        ),
        Joint(id="second", axis=(1.0, 0.0, 1.0), lowest_deg=0, highest_deg=180, step_deg=90),
    ),
    plate_offset_m=(0.05, 0.1, 0.15),
    boots_length_m=0.36,
    boots_width_m=0.30,
)


@pytest.mark.parametrize("restraint", [COARSE, SKEWED, *built_in_restraints()])
@pytest.mark.parametrize("socket", [SOCKET, TILTED])
def test_poses_are_products_of_scipy_rotations(restraint: Restraint, socket: Socket) -> None:
    found = plate_poses(restraint, socket)
    # Of the largest the first clock positions only, for time.
    loop = list(islice(loop_poses(restraint, socket), 1000))
    some = slice(0, len(loop))
    assert len(found.place_m) == restraint.settings
    assert np.abs(found.place_m[some] - [pose.place_m for pose in loop]).max() < 1e-12
    assert np.abs(found.axes[some] - [pose.axes for pose in loop]).max() < 1e-12
    joints_m = np.swapaxes(found.joints_m[:, some], 0, 1)
    assert np.abs(joints_m - [pose.joints_m for pose in loop]).max() < 1e-12


@pytest.mark.parametrize("body", built_in_bodies(), ids=lambda body: body.id)
@pytest.mark.parametrize("target", [ON_WALL, BOTH], ids=["one-hand", "two-hands"])
def test_margins_are_those_of_the_plain_loop(body: Body, target: Target) -> None:
    zone = Zone(id="Z", volume=Sphere(center_m=(0.9, 0.5, 1.4), radius_m=0.2), applies_to=("body",))
    around = survey(deck(target, zones=[zone]), Situation())
    poses = plate_poses(COARSE, SOCKET)
    checked = check_settings(poses, COARSE, [body], [target], (around, 60.0))
    shapes = around.solids.shapes, around.body.shapes
    capsules = loop_capsules(body, COARSE)
    lines, rooms = [], []
    for pose in loop_poses(COARSE, SOCKET):
        lines.append(loop_margins(pose, body, target, shapes, 60.0))
        room = [loop_room_m(pose, capsule, around.body.shapes) for capsule in capsules]
        links = loop_links_m(pose, capsules[:2], around.body.shapes)
        rooms.append([min(room[:2]), room[2], links])
    found = checked.margin_m[0]
    blocked = np.isinf(lines)
    assert (np.isinf(found[:, :9]) == blocked).all()
    assert (found[:, :9][blocked] == np.array(lines)[blocked]).all()
    # arccos near 0 is good to about 1e-8 rad.
    assert np.abs(found[:, :9][~blocked] - np.array(lines)[~blocked]).max() < 1e-6
    # Found: at most 1 mm too low. Sampled every 5 mm: at most 2.5 mm too high.
    too_high = np.array(rooms) - found[:, 9:]
    assert too_high.min() > -1e-9
    assert too_high.max() < 3.6e-3
    # The case has settings of every sort: else it would show little.
    assert (~checked.passes[0]).any(axis=0)[[0, 2, 5, 7, 8, 9]].all(), CHECKS


def test_several_targets_take_the_worst_of_each() -> None:
    around = survey(deck(), Situation())
    poses = plate_poses(COARSE, SOCKET)
    bodies = built_in_bodies()
    both = check_settings(poses, COARSE, bodies, [ON_WALL, BOTH], (around, 60.0))
    single = [
        check_settings(poses, COARSE, bodies, [one], (around, 60.0)).margin_m
        for one in (ON_WALL, BOTH)
    ]
    assert (both.margin_m == np.minimum(*single)).all()
    assert (both.worst_target == (single[1] < single[0])).all()


@pytest.mark.parametrize(
    ("targets", "more_m"),
    [((ON_WALL,), 0.0), ((ON_WALL, BOTH), 0.0), ((BOTH,), -0.2), ((ON_WALL,), -0.3)],
)
def test_two_stages_find_what_the_full_check_finds(
    targets: tuple[Target, ...], more_m: float
) -> None:
    """What works, what it is worth, and where nothing works the nearest."""
    around = survey(deck(), Situation())
    (restraint,) = built_in_restraints()
    poses = plate_poses(restraint, SOCKET)
    bodies = [
        body.model_copy(update={"one_hand_farthest_m": body.one_hand_farthest_m + more_m})
        for body in built_in_bodies()
    ]
    full = check_settings(poses, restraint, bodies, targets, (around, 60.0))
    for i, one in enumerate(sift(poses, restraint, bodies, targets, (around, 60.0))):
        assert one.looked[one.working].tolist() == np.flatnonzero(full.works[i]).tolist()
        assert (one.checked.margin_m[0] == full.margin_m[i][one.looked]).all()
        if not len(one.working):
            assert one.looked[-1] == nearest_of(full.margin_m[i])


def test_where_all_is_hidden_the_nearest_is_the_same_too() -> None:
    inside = ON_WALL.model_copy(update={"position_m": (0.7, 0.1, 1.85)})
    around = survey(deck(inside), Situation())
    poses = plate_poses(COARSE, SOCKET)
    bodies = built_in_bodies()
    full = check_settings(poses, COARSE, bodies, [inside], (around, 60.0))
    assert np.isneginf(full.overall_m).all()
    for i, one in enumerate(sift(poses, COARSE, bodies, [inside], (around, 60.0))):
        assert one.looked[-1] == nearest_of(full.margin_m[i])
