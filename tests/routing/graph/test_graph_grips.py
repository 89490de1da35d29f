import numpy as np
import pytest

from routing.graph.build import complete
from routing.graph.grips import Places, place_grips
from routing.graph.situation import Situation
from routing.limits import Limits
from structures.elements import Handhold, Item, Person, TetherPoint, Worksite
from structures.model import Structure
from tests.routing.graph.graph_structures import UP, flat_deck, rail


def places(structure: Structure, situation: Situation | None = None) -> Places:
    return place_grips(structure, complete(structure, situation or Situation()))


@pytest.mark.parametrize(
    ("length_m", "steps"), [(0.01, 1), (0.25, 1), (0.2501, 2), (1.0, 4), (1.01, 5)]
)
def test_samples_are_no_farther_apart_than_the_spacing_and_hold_both_ends(
    length_m: float, steps: int
) -> None:
    found = places(flat_deck(rail("H", (1.0, 2.0, -0.07), (1.0, 2.0 + length_m, -0.07))))
    np.testing.assert_allclose(found.along_m, np.linspace(0, length_m, steps + 1), atol=1e-12)
    assert np.diff(found.along_m).max() <= 0.25 + 1e-12
    assert found.position_m[0].tolist() == [1.0, 2.0, -0.07]
    assert found.position_m[-1].tolist() == [1.0, 2.0 + length_m, -0.07]


def test_every_corner_is_a_grip_exactly() -> None:
    corner = (0.3, 0.1, -0.07)
    found = places(flat_deck(rail("H", (0.0, 0.1, -0.07), corner, (0.3, 0.5, -0.07))))
    at = found.ids.index("H@0.300")
    assert found.position_m[at].tolist() == list(corner)
    assert found.ids == ("H@0.000", "H@0.150", "H@0.300", "H@0.500", "H@0.700")


def test_rails_that_cross_get_a_grip_each_at_the_crossing() -> None:
    # By hand: nearest at x = 0.1 on H1 and y = 0.2 from the start of H2, 0.1 m apart.
    first = rail("H1", (0.0, 0.0, -0.07), (1.0, 0.0, -0.07))
    second = rail("H2", (0.1, -0.2, -0.17), (0.1, 0.8, -0.17))
    assert {"H1@0.100", "H2@0.200"} <= set(places(flat_deck(first, second)).ids)


@pytest.mark.parametrize(("gap_m", "there"), [(0.6, True), (0.6096, True), (0.62, False)])
def test_crossings_farther_than_reach_are_of_no_interest(gap_m: float, *, there: bool) -> None:
    first = rail("H1", (0.0, 0.0, -0.07), (1.0, 0.0, -0.07))
    second = rail("H2", (0.1, -0.5, -0.07 - gap_m), (0.1, 0.5, -0.07 - gap_m))
    assert ("H1@0.100" in places(flat_deck(first, second)).ids) is there


def test_parallel_rails_get_the_projections_of_both_ends() -> None:
    # H2 overlaps H1 from 0.37 to 1.0: projections of its start and of the end of H1.
    first = rail("H1", (0.0, 0.0, -0.07), (1.0, 0.0, -0.07))
    second = rail("H2", (0.37, 0.3, -0.07), (1.87, 0.3, -0.07))
    ids = places(flat_deck(first, second)).ids
    assert "H1@0.370" in ids
    assert "H2@0.630" in ids


def test_single_holds_tether_points_and_worksites_give_their_nearest_place() -> None:
    structure = flat_deck(
        rail("H", (0.0, 0.0, -0.07), (2.0, 0.0, -0.07)),
        handholds=(Handhold(id="G", position_m=(0.61, 0.5, -0.07), normal=UP),),
        tether_points=(TetherPoint(id="T", position_m=(1.11, 0.5, -0.07)),),
        worksites=(Worksite(id="W", handrail="H", place_m=(1.63, 5.0, 0.0)),),
    )
    assert {"H@0.610", "H@1.110", "H@1.630", "G"} <= set(places(structure).ids)


def test_grips_that_round_to_one_millimetre_are_one_grip() -> None:
    structure = flat_deck(
        rail("H", (0.0, 0.0, -0.07), (1.0, 0.0, -0.07)),
        worksites=(
            Worksite(id="W1", handrail="H", place_m=(0.2503, 0.0, 0.0)),
            Worksite(id="W2", handrail="H", place_m=(0.6203, 0.0, 0.0)),
            Worksite(id="W3", handrail="H", place_m=(0.6199, 0.0, 0.0)),
        ),
    )
    found = places(structure)
    assert found.ids == ("H@0.000", "H@0.250", "H@0.500", "H@0.620", "H@0.750", "H@1.000")
    assert len(set(found.ids)) == len(found.ids)
    # The sample stays where it is, exactly; of two worksites the first along the rail.
    assert found.along_m[[1, 3]].tolist() == pytest.approx([0.25, 0.6199], abs=1e-12)


def test_grips_stand_in_order_of_element_and_distance() -> None:
    structure = flat_deck(
        rail("b", (0.0, 0.0, -0.07), (1.0, 0.0, -0.07)),
        rail("A", (5.0, 0.0, -0.07), (6.0, 0.0, -0.07)),
        handholds=(Handhold(id="a", position_m=(3.0, 0.0, -0.07), normal=UP),),
    )
    found = places(structure)
    keys = list(zip(found.element_ids, found.along_m.tolist(), strict=True))
    assert keys == sorted(keys)
    assert found.element_ids[5] == "a"


def test_a_load_leaves_all_grips_as_they_are() -> None:
    # The crossing is 0.75 m wide: within reach of free hands only, 0.72 m with a load.
    structure = flat_deck(
        rail("H1", (0.0, 0.0, -0.07), (1.0, 0.0, -0.07)),
        rail("H2", (0.1, -0.5, -0.82), (0.1, 0.5, -0.82)),
    )
    bag = Item(id="bag", size_m=(0.1, 0.1, 0.1), mass_kg=1.0)
    person = Person(id="P", reach_m=0.8)
    free = places(structure, Situation(person=person)).ids
    assert "H1@0.100" in free
    assert places(structure, Situation(person=person, carry=bag)).ids == free


def test_a_closure_leaves_the_other_grips_as_they_are() -> None:
    structure = flat_deck(
        rail("H1", (0.0, 0.0, -0.07), (1.0, 0.0, -0.07)),
        rail("H2", (0.37, 0.3, -0.07), (1.87, 0.3, -0.07)),
    )
    all_ids = places(structure).ids
    left = places(structure, Situation(closed=("H2",))).ids
    assert left == tuple(i for i in all_ids if i.startswith("H1"))


def test_a_person_of_longer_reach_keeps_all_grips() -> None:
    structure = flat_deck(
        rail("H1", (0.0, 0.0, -0.07), (1.0, 0.0, -0.07)),
        rail("H2", (0.33, 0.65, -0.07), (1.33, 0.65, -0.07)),
    )
    far = places(structure, Situation(person=Person(id="P", reach_m=0.7))).ids
    assert set(places(structure).ids) < set(far)


def test_a_structure_without_rails_has_no_grips() -> None:
    assert places(flat_deck()).ids == ()
    tethered = flat_deck(tether_points=(TetherPoint(id="T", position_m=(0.0, 0.0, 0.0)),))
    assert places(tethered).ids == ()


def test_one_long_rail_is_found_by_a_short_one_in_its_middle() -> None:
    structure = flat_deck(
        rail("H1", (-9.0, 0.0, -0.07), (9.0, 0.0, -0.07)),
        rail("H2", (0.115, 0.4, -0.07), (0.115, 0.5, -0.07)),
    )
    limits = Limits(grip_spacing_m=5.0)
    assert "H1@9.115" in places(structure, Situation(limits=limits)).ids
