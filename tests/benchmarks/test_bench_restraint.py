"""All settings of a socket in one computation against the plain loop over them."""

import time
from collections.abc import Callable
from itertools import islice
from pathlib import Path
from statistics import median

import pytest

from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.worksites.restraints.checks import check_settings
from routing.worksites.restraints.poses import plate_poses
from routing.worksites.restraints.stages import sift
from structures.elements import Socket, Worksite
from structures.files import read_structure
from tests.routing.worksites.restraint_ground import (
    loop_capsules,
    loop_links_m,
    loop_margins,
    loop_poses,
    loop_room_m,
)

STATION = Path(__file__).parents[2] / "examples" / "station" / "station.toml"
LOOPED = 25
"""The loop is timed for so many settings, and its time is scaled up."""


@pytest.mark.benchmark
def test_restraint_settings() -> None:
    structure = read_structure(STATION)
    worksite, socket = structure.find("WD01"), structure.find("SK16")
    assert isinstance(worksite, Worksite)
    assert isinstance(socket, Socket)
    restraint = structure.restraints[0]
    around = survey(structure, Situation())
    # The loop too is given only the shapes that are near.
    near = around.body.near(plate_poses(restraint, socket).place_m, 3.0)
    solids = around.solids.near(plate_poses(restraint, socket).place_m, 3.0)
    targets, bodies = worksite.targets, structure.bodies

    def full() -> None:
        poses = plate_poses(restraint, socket)
        check_settings(poses, restraint, bodies, targets, (around, 60.0))

    def staged() -> None:
        sift(plate_poses(restraint, socket), restraint, bodies, targets, (around, 60.0))

    def loop() -> None:
        for pose in islice(loop_poses(restraint, socket), LOOPED):
            for body in bodies:
                for target in targets:
                    loop_margins(pose, body, target, (solids, near), 60.0)
                capsules = loop_capsules(body, restraint)
                for capsule in capsules:
                    loop_room_m(pose, capsule, near)
                loop_links_m(pose, capsules[:2], solids)

    def seconds(work: Callable[[], object]) -> float:
        found = []
        for _ in range(3):
            started = time.perf_counter()
            work()
            found.append(time.perf_counter() - started)
        return median(found)

    looped = seconds(loop) * restraint.settings / LOOPED
    one_go, two_stages = seconds(full), seconds(staged)
    print(
        f"\nfoot restraint: {restraint.settings} settings x {len(targets)} targets x {len(bodies)} "
        f"bodies: loop {looped:.0f} s; one computation {one_go:.2f} s ({looped / one_go:.0f} x); "
        f"in two stages {two_stages:.2f} s ({looped / two_stages:.0f} x)"
    )
