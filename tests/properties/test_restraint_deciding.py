"""What decides a verdict, found best first, is what looking at every setting finds."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.worksites.restraints.at_worksite import (
    restraint_reach,
    restraint_serves,
    restraint_verdict,
    restraint_verdicts,
)
from routing.worksites.restraints.bounds import Bounds
from routing.worksites.restraints.checks import check_settings
from routing.worksites.restraints.choice import restraints_of
from routing.worksites.restraints.poses import plate_poses
from routing.worksites.restraints.records import WorksiteRestraint
from structures.built_in import built_in_bodies
from structures.elements import Solid, Target, Worksite, Zone
from structures.files import read_structure
from structures.model import Structure
from structures.shapes import Sphere
from tests.draws import draws
from tests.properties.test_restraint_properties import facings, near
from tests.routing.worksites.restraint_ground import COARSE, DECK, SOCKET, WALL, deck

STATION = Path(__file__).parents[2] / "examples" / "station" / "station.toml"

places = st.tuples(near, near, st.floats(-0.5, 2.5).map(lambda x: round(x, 3)))
targets = st.lists(
    st.builds(
        lambda place, facing, hands: {"position_m": place, "facing": facing, "hands": hands},
        places,
        facings,
        st.sampled_from([1, 2]),
    ),
    min_size=1,
    max_size=3,
)
balls = st.builds(
    lambda place, radius: Sphere(center_m=place, radius_m=radius), places, st.floats(0.05, 1.5)
)
SHORT = COARSE.model_copy(update={"id": "short", "plate_offset_m": (0.0, 0.0, 0.3)})
UNRATED = COARSE.model_copy(update={"id": "unrated", "rating_n": None})


def in_short(found: WorksiteRestraint) -> dict[str, Any]:
    apart = {"sockets", "setting", "margin_m", "reason"}
    answer = {name: value for name, value in found.to_row().items() if name not in apart}
    margin_m = None if found.margin_m is None else round(found.margin_m, 9)
    setting = None if found.setting is None else (found.setting.clock, found.setting.joints_deg)
    return {**answer, "margin_m": margin_m, "setting": setting, "reason": found.reason}


def assert_same(structure: Structure, worksite: Worksite, situation: Situation) -> None:
    every = restraint_reach(structure, worksite, situation, in_short=True)
    assert in_short(restraint_verdict(structure, worksite, situation)) == in_short(every)
    around = survey(structure, situation)
    for kind in restraints_of(structure):
        able = [
            one.rated and all(body.working for body in one.bodies)
            for one in every.sockets
            if one.own and one.restraint == kind.id
        ]
        serves = restraint_serves(structure, worksite, situation, kind, around)
        assert serves == (able == [True])


@settings(deadline=None, max_examples=draws(25))
@given(
    wanted=targets,
    solids=st.lists(balls, max_size=2),
    zone=balls,
    types=st.sampled_from(
        [(COARSE,), (SHORT, COARSE), (UNRATED, COARSE), (UNRATED,), (COARSE, SHORT, UNRATED)]
    ),
)
def test_deciding_setting_is_that_of_all(
    wanted: list[dict[str, Any]],
    solids: list[Sphere],
    zone: Sphere,
    types: tuple[Any, ...],
) -> None:
    structure = deck(
        *[Target(id=f"T{i}", **one) for i, one in enumerate(wanted)],
        solids=[DECK, WALL, *[Solid(id=f"S{i}", volume=one) for i, one in enumerate(solids)]],
        zones=[Zone(id="Z", volume=zone)],
        restraints=types,
    )
    assert_same(structure, structure.worksites[0], Situation())


@pytest.mark.parametrize("closed", [(), ("S1",)])
def test_closed_sockets_decide_alike(closed: tuple[str, ...]) -> None:
    structure = deck()
    assert_same(structure, structure.worksites[0], replace(Situation(), closed=closed))


def test_deciding_settings_of_the_station_are_those_of_all() -> None:
    """Sites of every kind: few settings work, some bodies, none with a number, none with a view.

    All worksites are asked about together too, and have the same answers.
    """
    structure = read_structure(STATION)
    together = restraint_verdicts(structure, structure.worksites, Situation())
    for one in ("W08", "W13", "W20", "W24", "WD01", "WD02"):
        worksite = structure.by_id[one]
        assert isinstance(worksite, Worksite)
        assert_same(structure, worksite, Situation())
        alone = restraint_verdict(structure, worksite, Situation())
        assert in_short(together[one]) == in_short(alone)


@settings(deadline=None, max_examples=draws(15))
@given(
    several=st.lists(targets, min_size=2, max_size=4),
    ball=balls,
    types=st.sampled_from([(COARSE,), (SHORT, COARSE), (UNRATED, COARSE)]),
)
def test_worksites_asked_about_together_are_answered_as_each_alone(
    several: list[list[dict[str, Any]]], ball: Sphere, types: tuple[Any, ...]
) -> None:
    """They differ in how many targets there are and in how many hands those need."""
    structure = deck(solids=[DECK, WALL, Solid(id="S", volume=ball)], restraints=types)
    worksites = [
        Worksite(
            id=f"W{i}",
            socket="S1",
            targets=tuple(Target(id=f"W{i}T{k}", **one) for k, one in enumerate(wanted)),
        )
        for i, wanted in enumerate(several)
    ]
    structure = structure.model_copy(update={"worksites": tuple(worksites)})
    together = restraint_verdicts(structure, worksites, Situation())
    for one in worksites:
        assert in_short(together[one.id]) == in_short(
            restraint_reach(structure, one, Situation(), in_short=True)
        )


@settings(deadline=None, max_examples=draws(25))
@given(wanted=targets, facing_deg=st.sampled_from([30.0, 60.0, 90.0]))
def test_bounds_are_no_lower_than_margins_and_hardly_higher(
    wanted: list[dict[str, Any]], facing_deg: float
) -> None:
    """Brute force: the margins of reach, facing and view of all settings."""
    asked = [Target(id=f"T{i}", **one) for i, one in enumerate(wanted)]
    poses = plate_poses(COARSE, SOCKET)
    around = survey(deck(), Situation()), facing_deg
    for body in built_in_bodies():
        margin_m = check_settings(poses, COARSE, [body], asked, around, upto="reach").overall_m[0]
        bounds = Bounds(COARSE, SOCKET, body, asked, facing_deg)
        upper_m = bounds.upper_m()
        assert (upper_m >= margin_m).all()
        assert (upper_m <= margin_m + 3e-6).all()
        some, at_most_m = bounds.hopeful()
        assert set(np.flatnonzero(margin_m >= 0)) <= set(some)
        assert (at_most_m == upper_m[some]).all()
