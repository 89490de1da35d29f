"""What must hold for foot restraints on any structure."""

from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.worksites.restraints.poses import plate_poses
from routing.worksites.restraints.stages import Sifted, sift
from structures.bodies import Body
from structures.built_in import built_in_bodies
from structures.elements import Socket, Solid, Target, Zone
from structures.shapes import Box, Sphere
from tests.draws import draws
from tests.routing.worksites.restraint_ground import COARSE, DECK, SOCKET, WALL, deck

QUICK = settings(deadline=None, max_examples=draws(25))

near = st.floats(-1.5, 1.5).map(lambda x: round(x, 3))
places = st.tuples(near, near, st.floats(0.2, 2.5).map(lambda x: round(x, 3)))
facings = st.sampled_from([(-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.3, -0.9, 0.2), (0.0, 1.0, 0.0)])
targets = st.builds(
    lambda place, facing, hands: Target(id="T", position_m=place, facing=facing, hands=hands),
    places,
    facings,
    st.sampled_from([1, 2]),
)
balls = st.builds(
    lambda place, radius: Sphere(center_m=place, radius_m=radius), places, st.floats(0.05, 0.6)
)


def asked(
    target: Target,
    bodies: tuple[Body, ...] = built_in_bodies(),
    socket: Socket = SOCKET,
    **around: Any,
) -> tuple[Sifted, ...]:
    structure = deck(target, **around)
    poses = plate_poses(COARSE, socket)
    return sift(poses, COARSE, bodies, [target], (survey(structure, Situation()), 60.0))


def working(found: tuple[Sifted, ...]) -> list[set[int]]:
    return [set(one.looked[one.working].tolist()) for one in found]


@QUICK
@given(target=targets, more_m=st.floats(0.0, 0.5))
def test_a_longer_reach_never_has_fewer_settings(target: Target, more_m: float) -> None:
    short = built_in_bodies()
    long = tuple(
        body.model_copy(update={"one_hand_farthest_m": body.one_hand_farthest_m + more_m})
        for body in short
    )
    for before, after in zip(
        working(asked(target, short)), working(asked(target, long)), strict=True
    ):
        assert before <= after


@QUICK
@given(target=targets, ball=balls, as_zone=st.booleans())
def test_another_solid_or_zone_never_has_more(
    target: Target, ball: Sphere, *, as_zone: bool
) -> None:
    more: dict[str, Any] = (
        {"zones": [Zone(id="Z", volume=ball)]}
        if as_zone
        else {"solids": [DECK, WALL, Solid(id="more", volume=ball)]}
    )
    for before, after in zip(working(asked(target)), working(asked(target, **more)), strict=True):
        assert after <= before


@QUICK
@given(target=targets, ball=balls)
def test_mirrored_structures_have_as_many_settings(target: Target, ball: Sphere) -> None:
    """Clock positions and joints go both ways alike, and so do bodies."""

    def mirrored(place: tuple[float, float, float]) -> tuple[float, float, float]:
        return (place[0], -place[1], place[2])

    other = target.model_copy(
        update={"position_m": mirrored(target.position_m), "facing": mirrored(target.facing)}
    )
    counts = [
        [len(one) for one in working(asked(spot, solids=[DECK, WALL, Solid(id="b", volume=shape)]))]
        for spot, shape in (
            (target, ball),
            (other, ball.model_copy(update={"center_m": mirrored(ball.center_m)})),
        )
    ]
    assert counts[0] == counts[1]


@QUICK
@given(target=targets, turn_deg=st.sampled_from([90.0, 180.0, 270.0]))
def test_clock_zero_may_point_to_any_clock_position(target: Target, turn_deg: float) -> None:
    """It only renames the settings: as many work, with the same margins."""
    angle = np.deg2rad(turn_deg)
    turned = SOCKET.model_copy(update={"clock_zero": (np.cos(angle), np.sin(angle), 0.0)})
    found = [
        [
            np.sort(np.round(one.checked.overall_m[0][one.working], 6))
            for one in asked(target, socket=s)
        ]
        for s in (SOCKET, turned)
    ]
    for before, after in zip(*found, strict=True):
        assert np.allclose(before, after, atol=1e-5)


def test_the_wall_can_be_worked_on_at_all() -> None:
    """Else the properties above would say little."""
    target = Target(id="T", position_m=(0.5, 0.1, 1.85), facing=(-1.0, 0.0, 0.0))
    assert all(working(asked(target)))
    box = Solid(id="lid", volume=Box(center_m=(0.3, 0.0, 1.85), size_m=(0.1, 0.6, 0.6)))
    assert not any(working(asked(target, solids=[DECK, WALL, box])))
