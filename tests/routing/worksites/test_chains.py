"""Equipment-tether chains: closed forms, ends of spans, and every reason for none."""

import math

import pytest

from routing.graph.situation import Situation
from routing.limits import Limits
from routing.worksites.ties.best_first import TIE_WITHIN_M
from routing.worksites.ties.chains import find_chain, find_chains
from routing.worksites.ties.kit import DEFAULT_TETHER, TetherKit, weakest_rating_n
from routing.worksites.ties.records import AttachChain, WorksiteChain
from structures.elements import (
    AttachPoint,
    Condition,
    Handhold,
    Handrail,
    Socket,
    Solid,
    Worksite,
    Zone,
)
from structures.equipment import EquipmentTether
from structures.errors import UnknownIdError
from structures.model import Structure
from structures.shapes import Box, Cone, Cylinder, Shape, Sphere
from structures.units import FOOT_M, fine_text

UP = (0.0, 0.0, -1.0)
Point = tuple[float, float, float]
CINCHED_M, EXTENDED_M = 0.3048, 6 * 0.3048  # 1 ft and 6 ft, exactly


def hold(at: Point, hold_id: str = "G1", *, hook: bool = True) -> Handhold:
    return Handhold(id=hold_id, position_m=at, normal=UP, tether_hook=hook)


def scene(held: Point, seated: Point | None = None, **lists: object) -> Structure:
    """Build a structure with worksite W1, one attach point, and what is given."""
    attach = AttachPoint(id="a", held_m=held, seated_m=held if seated is None else seated)
    return Structure.model_validate(
        {
            "name": "scene",
            "revision": "A",
            "sockets": (Socket(id="S1", position_m=(50, 0, 0), normal=UP, clock_zero=(1, 0, 0)),),
            "worksites": (Worksite(id="W1", socket="S1", attach=(attach,)),),
        }
        | lists
    )


def solids(*shapes: Shape) -> tuple[Solid, ...]:
    return tuple(Solid(id=f"B{i}", volume=shape) for i, shape in enumerate(shapes))


def chain(
    structure: Structure,
    situation: Situation | None = None,
    tether: EquipmentTether = DEFAULT_TETHER,
    reached: frozenset[str] | None = None,
) -> AttachChain:
    found = find_chain(
        structure, "W1", situation or Situation(), kit=TetherKit.of([tether]), reached=reached
    )
    assert found.verdict == found.attach[0].verdict
    return found.attach[0]


def test_default_tether_says_where_its_numbers_are_from() -> None:
    assert DEFAULT_TETHER.extended_m == pytest.approx(6 * FOOT_M)  # T15, from memory
    # L06: SSP 30256:001 Rev F table 3.1.3-1 (page 3-5), 75 lbf, printed as 333.6 N here.
    assert DEFAULT_TETHER.rating_n == pytest.approx(333.6, abs=0.05)
    assert "from memory" in DEFAULT_TETHER.source
    assert "own planning assumption" in DEFAULT_TETHER.source


def test_straight_from_the_nearest_place_of_a_rail() -> None:
    rail = Handrail(id="R1", points_m=((0, 0, 0), (4, 0, 0)), normal=UP)
    found = chain(scene((2.2, 1.5, 0), (2.2, 1.0, 0), handrails=(rail,)))
    assert (found.verdict, found.handrail, found.tethers) == ("ok", "R1", 1)
    assert found.along_m is not None
    assert found.margin_m is not None
    aside_m = found.along_m - 2.2
    assert found.held_m == pytest.approx(math.hypot(1.5, aside_m), abs=1e-9)
    assert found.seated_m == pytest.approx(math.hypot(1.0, aside_m), abs=1e-9)
    assert EXTENDED_M - 1.5 - TIE_WITHIN_M <= found.margin_m <= EXTENDED_M - 1.5
    assert (found.cinched_m, found.extended_m) == (CINCHED_M, EXTENDED_M)


def test_best_place_is_not_the_nearest_when_cinching_decides() -> None:
    # Straight under both positions the seated one is too near to cinch; the best
    # place is where both ends of the span are equally far: closed form below.
    rail = Handrail(id="R1", points_m=((0, 0, 0), (4, 0, 0)), normal=UP)
    found = chain(scene((2, 0.1, 0), (2, 0.1, 0), handrails=(rail,)))
    middle_m = (CINCHED_M + EXTENDED_M) / 2
    aside_m = math.sqrt(middle_m**2 - 0.1**2)
    assert found.tethers == 1
    assert found.margin_m is not None
    assert (EXTENDED_M - CINCHED_M) / 2 - 0.01 <= found.margin_m <= (EXTENDED_M - CINCHED_M) / 2
    assert found.along_m == pytest.approx(2 - aside_m, abs=0.011)  # the lower of two


@pytest.mark.parametrize(
    ("held_m", "seated_m", "tethers"),
    [
        (EXTENDED_M, 1.0, 1),
        (EXTENDED_M + 1e-6, 1.0, 2),
        (1.0, CINCHED_M, 1),
        (3 * EXTENDED_M, 1.0, 3),
        (3 * EXTENDED_M + 1e-6, 1.0, None),
        (1.0, CINCHED_M - 1e-6, None),
        (EXTENDED_M + 0.1, 2 * CINCHED_M, 2),
        (EXTENDED_M + 0.1, 2 * CINCHED_M - 1e-6, None),
    ],
)
def test_lengths_at_the_ends_of_the_span(
    held_m: float, seated_m: float, tethers: int | None
) -> None:
    found = chain(scene((held_m, 0, 0), (0, seated_m, 0), handholds=(hold((0, 0, 0)),)))
    assert found.tethers == tethers
    assert found.verdict == ("no chain" if tethers is None else "ok")
    if tethers is not None:
        ends = (tethers * CINCHED_M, tethers * EXTENDED_M)
        expected = min(abs(length - end) for length in (held_m, seated_m) for end in ends)
        assert found.margin_m == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(("dz", "length_m"), [(0.0, 4.511299166334352), (3.0, 5.417732013321535)])
def test_round_a_cylinder(dz: float, length_m: float) -> None:
    # worked example W12: 2 sqrt(3) + pi/3 in the plane; with dz = 3 along the axis.
    drum = Cylinder(start_m=(0, 0, -50), end_m=(0, 0, 50), radius_m=1)
    found = chain(
        scene((2, 0, dz), handholds=(hold((-2, 0, 0)),), solids=solids(drum)),
    )
    assert (found.verdict, found.tethers) == ("ok", 3)
    assert found.held_m == pytest.approx(length_m, abs=3e-6)
    assert found.held_m is not None
    assert found.held_m >= length_m
    assert found.margin_m == pytest.approx(3 * EXTENDED_M - length_m, abs=3e-6)


def test_on_the_far_side_of_a_box() -> None:
    # worked example W13 c: 2 + 2 sqrt(5) round a square of 2 m.
    block = Box(center_m=(0, 0, 0), size_m=(2, 2, 100))
    structure = scene((3, 0, 0), handholds=(hold((-3, 0, 0)),), solids=solids(block))
    found = chain(structure, Situation(limits=Limits(max_chain=4)))
    assert (found.verdict, found.tethers) == ("ok", 4)
    assert found.held_m == pytest.approx(2 + 2 * math.sqrt(5), abs=3e-6)
    three = chain(structure)
    assert three.verdict == "no chain"
    assert three.reason is not None
    lack_m = 2 + 2 * math.sqrt(5) - 3 * EXTENDED_M
    assert f"too far by at least {fine_text(lack_m, 'up')} for 3 tethers" in three.reason


def test_no_line_through_the_seam_between_two_boxes() -> None:
    left = Box(center_m=(-0.5, 0, 0), size_m=(1, 2, 100))
    right = Box(center_m=(0.5, 0, 0), size_m=(1, 2, 100))
    structure = scene((0, 1.2, 0), handholds=(hold((0, -1.2, 0)),), solids=solids(left, right))
    found = chain(structure)
    round_m = 2 + 2 * math.hypot(1, 0.2)
    assert found.tethers == 3  # straight, 2.4 m, it would be two
    assert found.held_m is not None
    assert round_m <= found.held_m <= 1.01 * round_m


def test_held_in_sight_but_seated_behind_an_edge() -> None:
    block = Box(center_m=(0, 0, 0), size_m=(2, 2, 100))
    structure = scene((0, 1.4, 0), (1.2, 0.4, 0), handholds=(hold((-0.2, 1.2, 0)),),
                      solids=solids(block))  # fmt: skip
    found = chain(structure)
    bend_m = math.hypot(1.2, 0.2) + math.hypot(0.2, 0.6)
    assert found.verdict == "no chain"  # held is nearer than one tether cinches
    assert found.reason is not None
    assert "held position is too near by at least 22 mm (0.9 in) to cinch 1 tether" in found.reason
    shorter = DEFAULT_TETHER.model_copy(update={"cinched_m": 0.1})
    again = chain(structure, tether=shorter)
    assert again.tethers == 2
    assert again.held_m == pytest.approx(math.hypot(0.2, 0.2), abs=1e-9)
    assert again.seated_m == pytest.approx(bend_m, abs=3e-6)


def test_one_chain_serves_both_positions() -> None:
    # Held needs two tethers, seated is too near for two: each alone is fine, together never.
    structure = scene((3.0, 0, 0), (0, 0.5, 0), handholds=(hold((0, 0, 0)),))
    found = chain(structure)
    assert found.verdict == "no chain"
    assert found.reason is not None
    assert "seated position is too near by at least 0.110 m (0.36 ft) to cinch 2" in found.reason
    for both in ((3.0, 0.0, 0.0), (0.0, 0.5, 0.0)):
        assert chain(scene(both, handholds=(hold((0, 0, 0)),))).verdict == "ok"


def test_fewest_tethers_before_margin_and_lower_id_last() -> None:
    near = hold((0.4, 0, 0), "G9")
    roomy = hold((2.5, 0, 0), "G1")
    found = chain(scene((0, 0, 0), handholds=(roomy, near)))
    assert (found.handrail, found.tethers) == ("G9", 1)
    same = chain(scene((0, 0, 0), handholds=(hold((0, 1, 0), "G7"), hold((1, 0, 0), "G3"))))
    assert same.handrail == "G3"
    better = chain(scene((0, 0, 0), handholds=(hold((0, 1, 0), "G7"), hold((1.7, 0, 0), "G3"))))
    assert better.handrail == "G7"


def test_allowed_handrails() -> None:
    holds = (hold((1, 0, 0), "G1"), hold((0, 1.2, 0), "G2"), hold((0, 0, 1.3), "G3", hook=False))
    structure = scene((0, 0, 0), handholds=holds)
    assert chain(structure).handrail == "G1"
    assert chain(structure, Situation(closed=("G1",))).handrail == "G2"
    assert chain(structure, reached=frozenset({"G2", "G3"})).handrail == "G2"
    none = chain(structure, Situation(closed=("G1", "G2")))
    assert none.verdict == "no chain"
    assert none.reason == (
        "no handrail is allowed: G1 is closed, G2 is closed, G3 takes no tether hook"
    )
    cut_off = chain(structure, reached=frozenset())
    assert cut_off.reason is not None
    assert "no way leads to G1" in cut_off.reason


def test_handrails_that_the_worksite_names() -> None:
    holds = (hold((1, 0, 0), "G1"), hold((0, 1.2, 0), "G2"), hold((0, 0, 1.3), "G3", hook=False))
    at = scene((0, 0, 0)).worksites[0]

    def only(*named: str) -> Structure:
        worksite = at.model_copy(update={"tie_handrails": named})
        return scene((0, 0, 0), handholds=holds, worksites=(worksite,))

    assert chain(only("G2")).handrail == "G2"
    assert chain(only("G3")).verdict == "no chain"
    assert "the structure has none" in str(chain(scene((0, 0, 0))).reason)


def test_condition_closes_the_tie() -> None:
    structure = scene(
        (0, 0, 0),
        handholds=(hold((1, 0, 0), "G1"),),
        conditions=(Condition(id="loose", closes=("G1",)),),
    )
    assert chain(structure).verdict == "ok"
    assert chain(structure, Situation(when=("loose",))).verdict == "no chain"


def zone(radius_m: float, at: Point = (0.5, 0.0, 0.0), **more: object) -> Zone:
    return Zone.model_validate(
        {"id": "Z1", "volume": Sphere(center_m=at, radius_m=radius_m)} | more
    )


def test_zone_in_the_line() -> None:
    def with_zone(one: Zone, *holds: Handhold) -> Structure:
        return scene(
            (0, 0, 0),
            handholds=(hold((1, 0, 0)), *holds),
            zones=(one,),
            conditions=(Condition(id="radar"),),
        )

    blocked = chain(with_zone(zone(0.1)))
    assert blocked.verdict == "no chain"
    assert blocked.reason is not None
    assert blocked.reason.startswith("blocked by zone Z1")
    assert chain(with_zone(zone(0.1), hold((0, 1.2, 0), "G2"))).handrail == "G2"
    assert chain(with_zone(zone(0.1, applies_to=("body", "item")))).verdict == "ok"
    assert chain(with_zone(zone(0.1, kind="slow-down"))).verdict == "ok"
    switched = with_zone(zone(0.1, when=("radar",)))
    assert chain(switched).verdict == "ok"
    assert chain(switched, Situation(when=("radar",))).verdict == "no chain"
    # Beside the line: clear by 2 mm, or touching.
    assert chain(with_zone(zone(0.098, at=(0.5, 0.1, 0)))).verdict == "ok"
    assert chain(with_zone(zone(0.1, at=(0.5, 0.1, 0)))).verdict == "no chain"


def test_zone_on_the_way_round_a_cylinder() -> None:
    drum = Cylinder(start_m=(0, 0, -50), end_m=(0, 0, 50), radius_m=1)

    def with_zone(one: Zone) -> Structure:
        return scene(
            (2, 0.2, 0), handholds=(hold((-2, 0.2, 0)),), solids=solids(drum), zones=(one,)
        )

    # The line runs over the +y side; a zone on the skin there is met, one opposite is not.
    assert chain(with_zone(zone(0.05, at=(0, 1.02, 0)))).verdict == "no chain"
    assert chain(with_zone(zone(0.5, at=(0, -1.5, 0)))).verdict == "ok"


@pytest.mark.parametrize("angle_deg", range(80, 101))
def test_zone_is_met_by_the_arc_between_points_of_the_way(angle_deg: int) -> None:
    # Half a millimetre into the line on the skin, wherever the way has its points.
    drum = Cylinder(start_m=(0, 0, -50), end_m=(0, 0, 50), radius_m=1)
    out_m = 1 + 0.05 - 0.0005
    at = (
        out_m * math.cos(math.radians(angle_deg)),
        out_m * math.sin(math.radians(angle_deg)),
        0.0,
    )
    structure = scene((2, 0.2, 0), handholds=(hold((-2, 0.2, 0)),), solids=solids(drum),
                      zones=(zone(0.05, at=at),))  # fmt: skip
    assert chain(structure).verdict == "no chain"


def test_zone_beside_a_line_that_is_not_known_exactly() -> None:
    # The way round a cone is an upper bound: the taut line may lie beside it, in the zone.
    beside = zone(0.05, at=(0, 1.02, 0.25))
    drum = Cylinder(start_m=(0, 0, -50), end_m=(0, 0, 50), radius_m=1)
    cone = Cone(start_m=(0, 0, -50), end_m=(0, 0, 50), start_radius_m=1, end_radius_m=1)

    def round_it(shape: Shape, *zones: Zone) -> AttachChain:
        return chain(
            scene((2, 0.2, 0), handholds=(hold((-2, 0.2, 0)),), solids=solids(shape), zones=zones)
        )

    assert round_it(drum, beside).verdict == "ok"
    assert round_it(cone).verdict == "ok"
    assert str(round_it(cone, beside).reason).startswith("blocked by zone Z1")


def test_rating() -> None:
    structure = scene((0, 0, 0), handholds=(hold((1, 0, 0)),))
    unknown = chain(structure, tether=DEFAULT_TETHER.model_copy(update={"rating_n": None}))
    assert unknown.verdict == "unknown"
    weak = chain(structure, tether=DEFAULT_TETHER.model_copy(update={"rating_n": 333.5}))
    assert weak.verdict == "no chain"
    assert weak.reason is not None
    assert "333.5 N, 333.6 N are needed" in weak.reason
    enough = chain(structure, tether=DEFAULT_TETHER.model_copy(update={"rating_n": 333.6}))
    assert enough.verdict == "ok"
    assert weakest_rating_n([DEFAULT_TETHER] * 3) == DEFAULT_TETHER.rating_n
    nameless = DEFAULT_TETHER.model_copy(update={"rating_n": None})
    assert weakest_rating_n([DEFAULT_TETHER, nameless]) is None
    with pytest.raises(ValueError, match="at least one"):
        weakest_rating_n([])


def test_attach_point_inside_a_solid_is_unknown() -> None:
    block = Box(center_m=(0, 0, 0), size_m=(1, 1, 1))
    found = chain(scene((2, 0, 0), (0.4, 0, 0), handholds=(hold((1, 0, 0)),),
                        solids=solids(block)))  # fmt: skip
    assert found.verdict == "unknown"
    assert found.reason is not None
    assert "seated position is inside solid B0" in found.reason


def test_far_away_says_how_far() -> None:
    found = chain(scene((0, 0, 0), handholds=(hold((9, 0, 0), "G1"), hold((0, 8, 0), "G2"))))
    assert found.reason is not None
    assert (
        f"too far by at least {fine_text(8 - 3 * EXTENDED_M, 'up')} for 3 tethers" in found.reason
    )
    assert found.handrail == "G2"


def test_worst_attach_point_decides() -> None:
    structure = scene((1, 0, 0), handholds=(hold((0, 0, 0)),))
    points = (
        AttachPoint(id="a", held_m=(1, 0, 0), seated_m=(1, 0, 0)),
        AttachPoint(id="b", held_m=(3, 0, 0), seated_m=(3, 0, 0)),
        AttachPoint(id="c", held_m=(1.5, 0, 0), seated_m=(1.5, 0, 0)),
    )

    def decided(*attach: AttachPoint) -> WorksiteChain:
        worksite = Worksite(id="W1", socket="S1", attach=attach)
        return find_chains(structure.model_copy(update={"worksites": (worksite,)}), Situation())[0]

    deciding = [decided(*points), decided(points[0], points[2])]
    assert [d.deciding.attach for d in deciding if d.deciding] == ["b", "c"]
    far = AttachPoint(id="0", held_m=(9, 0, 0), seated_m=(9, 0, 0))
    assert decided(*points, far).verdict == "no chain"
    nothing = decided()
    assert (nothing.verdict, nothing.deciding) == ("nothing to tie", None)


def test_unknown_worksite_and_swapped_lengths() -> None:
    with pytest.raises(UnknownIdError, match="W2"):
        find_chain(scene((0, 0, 0)), "W2", Situation())
    with pytest.raises(ValueError, match="swapped"):
        EquipmentTether(id="t", cinched_m=2.0, extended_m=1.0)


@pytest.mark.parametrize("gap_m", [0.0, 1e-3, 2e-3])
@pytest.mark.parametrize(("thick_m", "aside_m"), [(0.0005, 0.0), (0.001, 0.3), (0.004, 0.3)])
def test_no_chain_goes_through_plates_nearer_than_a_tether_is_thick(
    thick_m: float, aside_m: float, gap_m: float
) -> None:
    """From one handhold, straight through the gap or bent by its edges, to the payload."""
    plates = [
        Box(center_m=(0.4, side * (2.0 + gap_m / 2), 0.0), size_m=(thick_m, 4.0, 8.0))
        for side in (1.0, -1.0)
    ]
    grips = (hold((0.0, aside_m, 0.0)),)
    wall = scene((0.8, 0.0, 0.0), solids=solids(*plates), handholds=grips)
    assert chain(wall).verdict == ("ok" if gap_m == 2e-3 else "no chain")
    # Beside one plate alone a line may lie, also along its edge.
    edge = scene((0.8, 0.0, 0.0), solids=solids(plates[0]), handholds=grips)
    assert chain(edge).verdict == "ok"
