"""Small structures for foot restraints, and the plain loop that the fast way is held against.

The loop goes over settings, bodies and targets one by one. It shares no code
with the computation in one piece: poses are products of scipy rotations, lines
and angles plain arithmetic, and the room of the body is sampled.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise, product
from typing import NamedTuple

import numpy as np
from scipy.spatial.transform import Rotation

from structures.bodies import Body
from structures.built_in import built_in_bodies
from structures.elements import (
    Handrail,
    Hatch,
    Socket,
    Solid,
    Target,
    TetherPoint,
    Worksite,
    Zone,
)
from structures.model import Structure
from structures.restraints import Joint, Restraint
from structures.shapes import Box, Shape
from structures.solids.distance import signed_distance
from structures.solids.sight import crosses

SOCKET = Socket(id="S1", position_m=(0.0, 0.0, 0.0), normal=(0.0, 0.0, 1.0), clock_zero=(1, 0, 0))

# Few settings, so that loops in tests stay short.
COARSE = Restraint(
    id="coarse",
    clock_positions=4,
    joints=(
        Joint(
            id="pitch",
            axis=(0.0, 1.0, 0.0),
            lowest_deg=-60.0,
            highest_deg=60.0,
            step_deg=30.0,
            offset_m=(0.0, 0.0, 0.2),
        ),
        Joint(
            id="yaw",
            axis=(0.0, 0.0, 1.0),
            lowest_deg=-180.0,
            highest_deg=120.0,
            step_deg=60.0,
            offset_m=(0.0, 0.0, 0.2),
        ),
    ),
    plate_offset_m=(0.0, 0.0, 0.1),
    boots_length_m=0.36,
    boots_width_m=0.30,
    boots_height_m=0.05,
    rating_n=1300.0,
    rating_nm=500.0,
)

FIXED = Restraint(
    id="fixed",
    clock_positions=1,
    plate_offset_m=(0.0, 0.0, 0.5),
    boots_length_m=0.36,
    boots_width_m=0.30,
    boots_height_m=0.05,
    rating_n=1300.0,
    rating_nm=500.0,
)
"""One setting: straight up, toes to clock zero."""

DECK = Solid(id="deck", volume=Box(center_m=(0.0, 0.0, -1.05), size_m=(8.0, 8.0, 2.0)))
WALL = Solid(id="wall", volume=Box(center_m=(0.7, 0.0, 1.25), size_m=(0.4, 3.0, 2.6)))
ON_WALL = Target(id="T1", position_m=(0.5, 0.1, 1.85), facing=(-1.0, 0.0, 0.0))
BOTH = Target(id="T2", position_m=(0.5, -0.05, 1.85), facing=(-1.0, 0.0, 0.0), hands=2)


def deck(
    *targets: Target,
    solids: Sequence[Solid] = (DECK, WALL),
    zones: Sequence[Zone] = (),
    bodies: Sequence[Body] | None = None,
    restraints: Sequence[Restraint] = (COARSE,),
) -> Structure:
    """A wall on a deck, a socket before it, and a worksite with some targets."""
    return Structure(
        name="deck",
        revision="A",
        solids=tuple(solids),
        sockets=(SOCKET,),
        worksites=(Worksite(id="W1", socket="S1", targets=targets or (ON_WALL,)),),
        zones=tuple(zones),
        bodies=tuple(built_in_bodies() if bodies is None else bodies),
        restraints=tuple(restraints),
    )


def reachable() -> Structure:
    """The deck with a hatch, and a handrail that leads from it to the socket."""
    rail = Handrail(
        id="H1", points_m=((-2.5, 0.0, 0.06), (-0.3, 0.0, 0.06)), normal=(0.0, 0.0, 1.0)
    )
    hatch = Hatch(id="A1", position_m=(-2.9, 0.0, 0.0), normal=(0.0, 0.0, 1.0), tether_point="P1")
    point = TetherPoint(id="P1", position_m=(-3.0, 0.2, 0.0), rating_n=5000.0)
    return deck().model_copy(
        update={"handrails": (rail,), "hatches": (hatch,), "tether_points": (point,)}
    )


class LoopPose(NamedTuple):
    place_m: np.ndarray
    axes: np.ndarray
    joints_m: np.ndarray


def loop_poses(restraint: Restraint, socket: Socket) -> Iterator[LoopPose]:
    """Every pose by products of scipy rotations, clock outermost."""
    normal = np.array(socket.normal) / math.hypot(*socket.normal)
    zero = np.array(socket.clock_zero, dtype=float)
    zero -= (zero @ normal) * normal
    base = np.stack([zero / math.hypot(*zero), np.zeros(3), normal], axis=1)
    base[:, 1] = np.cross(base[:, 2], base[:, 0])
    clocks = [-360.0 * k / restraint.clock_positions for k in range(restraint.clock_positions)]
    for clock_deg, *joints_deg in product(clocks, *(j.angles_deg for j in restraint.joints)):
        turned = Rotation.from_matrix(base) * Rotation.from_euler("z", clock_deg, degrees=True)
        place = np.array(socket.position_m, dtype=float)
        joints_m = [place]
        for joint, angle_deg in zip(restraint.joints, joints_deg, strict=True):
            place = place + turned.apply(joint.offset_m)
            joints_m.append(place)
            axis = np.array(joint.axis) / math.hypot(*joint.axis)
            turned *= Rotation.from_rotvec(math.radians(angle_deg) * axis)
        place = place + turned.apply(restraint.plate_offset_m)
        yield LoopPose(place, turned.as_matrix(), np.array(joints_m))


def loop_margins(
    pose: LoopPose,
    body: Body,
    target: Target,
    shapes: tuple[tuple[Shape, ...], tuple[Shape, ...]],
    facing_deg: float,
) -> list[float]:
    """The nine margins of lines of one setting, body and target, in the order of CHECKS."""
    solids, barred = shapes
    goal, facing = np.array(target.position_m), np.array(target.facing, dtype=float)
    facing /= math.hypot(*facing)
    seen = goal + 0.005 * facing

    def spot(x: float, y: float, z: float) -> np.ndarray:
        return pose.place_m + pose.axes @ np.array([x, y, z])

    def hidden(start: np.ndarray, some: tuple[Shape, ...]) -> bool:
        return any(crosses(shape, start[None], seen[None])[0] for shape in some)

    def angle(a: np.ndarray, b: np.ndarray) -> float:
        return math.acos(max(-1.0, min(1.0, float(a @ b) / (math.hypot(*a) * math.hypot(*b)))))

    def arm(side: float) -> dict[int, float]:
        at = spot(body.shoulder_forward_m, side * body.shoulder_out_m, body.shoulder_height_m)
        away = math.dist(goal, at)
        return {
            0: body.one_hand_farthest_m - away,
            1: away - body.one_hand_nearest_m,
            2: (math.radians(body.one_hand_angle_deg) - angle(goal - at, pose.axes[:, 0])) * away,
            4: (math.radians(facing_deg) - angle(at - goal, facing)) * away,
            8: -math.inf if hidden(at, barred) else math.inf,
        }

    eye = spot(body.eye_forward_m, 0.0, body.eye_height_m)
    far = math.dist(goal, eye)
    margins = dict.fromkeys(range(9), math.inf)
    margins[5] = (math.radians(body.view_angle_deg) - angle(goal - eye, pose.axes[:, 0])) * far
    margins[6] = (math.radians(facing_deg) - angle(eye - goal, facing)) * far
    margins[7] = -math.inf if hidden(eye, solids) else math.inf
    arms = [arm(1.0), arm(-1.0)]
    if target.hands == 2:
        middle = spot(body.two_hand_forward_m, 0.0, body.two_hand_height_m)
        margins[3] = body.two_hand_radius_m - math.dist(goal, middle)
        margins |= {k: min(one[k] for one in arms) for k in arms[0]}
    else:
        margins |= max(arms, key=lambda one: (min(one.values()), min(one[k] for k in (0, 1, 2, 4))))
    return [margins[k] for k in range(9)]


def loop_room_m(pose: LoopPose, capsule: Sequence[float], shapes: tuple[Shape, ...]) -> float:
    """Room of a capsule (x and z of both ends, radius), sampled every 5 mm; at most 0.1 m."""
    x0, z0, x1, z1, radius = capsule
    steps = max(2, math.ceil(math.dist((x0, z0), (x1, z1)) / 0.005) + 1)
    local = np.linspace([x0, 0.0, z0], [x1, 0.0, z1], steps)
    points = pose.place_m + local @ pose.axes.T
    return min([0.1, *(float(signed_distance(one, points).min()) - radius for one in shapes)])


def loop_links_m(
    pose: LoopPose, capsules: Sequence[Sequence[float]], shapes: tuple[Shape, ...]
) -> float:
    """Room of the restraint's links to solids and the body, sampled every 5 mm; at most 0.1 m."""
    found = [0.1]
    path = [*pose.joints_m, pose.place_m]
    for i, (first, last) in enumerate(pairwise(path)):
        steps = max(2, math.ceil(math.dist(first, last) / 0.005) + 1)
        points = np.linspace(first, last, steps)
        outer = i in {0, len(path) - 2}
        far = np.linalg.norm(points - path[0], axis=1) >= 0.05 if i == 0 else slice(None)
        rooms = [float(signed_distance(shape, points[far]).min(initial=0.1)) for shape in shapes]
        # The ends of the chain stand on the structure and between the boots.
        found += [room for room in rooms if room < 0 or not outer]
        if i == len(path) - 2:
            break
        for x0, z0, x1, z1, radius in capsules:
            local = np.linspace([x0, 0.0, z0], [x1, 0.0, z1], 300)
            body = pose.place_m + local @ pose.axes.T
            away = np.linalg.norm(points[:, None] - body[None], axis=2)
            found.append(float(away.min()) - radius)
    return min(found)


def loop_capsules(body: Body, restraint: Restraint) -> list[Sequence[float]]:
    """Legs and trunk, then boots."""
    boot = restraint.boots_width_m / 2
    half = max(restraint.boots_length_m / 2 - boot, 0.0)
    wide, high, back = body.corridor_radius_m, restraint.boots_height_m, body.trunk_forward_m
    return [
        (0.0, body.leg_radius_m, 0.0, body.hip_height_m, body.leg_radius_m),
        (back, body.hip_height_m + wide, back, body.height_m - wide, wide),
        (-half, high, half, high, boot),
    ]
