"""All checks of a structure in one call."""

from structures.doubtful import check_items, check_length_unit, check_people
from structures.findings import Finding, sorted_findings
from structures.inspection.adrift import check_rails_adrift
from structures.inspection.duplicates import check_duplicate_rails
from structures.inspection.hardware import (
    check_clock_zero,
    check_kick_hardware,
    check_tether_rating,
)
from structures.inspection.places import (
    check_attach_inside,
    check_place_inside,
    check_place_normal,
    check_target_facing,
)
from structures.inspection.rails import (
    check_rail_inside,
    check_rail_length,
    check_rail_normal,
    check_rail_standoff,
    measure_rails,
)
from structures.inspection.stowage import check_stowage, check_unused_conditions
from structures.inspection.surroundings import Surroundings
from structures.inspection.zone_checks import check_zone_swallows
from structures.model import Structure
from structures.units import TableUnit

__all__ = ["check_any_solids", "inspect_structure"]


def inspect_structure(
    structure: Structure,
    *,
    glove_grip_m: float,
    tether_point_rating_n: float,
    kick_distance_m: float,
    rail_table: TableUnit | None = None,
) -> tuple[Finding, ...]:
    """Find what is legal but doubtful in a structure.

    The three limits are those of `routing.limits`, where each has its source.

    Parameters
    ----------
    structure
        A structure whose references hold (`structures.references`).
    glove_grip_m
        Length of handrail that one gloved hand needs [m].
    tether_point_rating_n
        Load that a tether point for a safety tether must be rated for [N].
    kick_distance_m
        How near to a place where people pass hardware must bear a kick [m].
    rail_table
        The file that the handrails are from and its unit, if they are from one.

    Returns
    -------
    tuple of Finding
        Worst severity first, then by code and id; the same for the same
        elements in any order.

    Examples
    --------
    >>> from structures.elements import Handrail
    >>> short = Handrail(id="H1", points_m=((0, 0, 0), (0.1, 0, 0)), normal=(0, 0, -1))
    >>> structure = Structure(name="bare", revision="A", handrails=(short,))
    >>> limits = {"tether_point_rating_n": 2553.0, "kick_distance_m": 0.6096}
    >>> [f.code for f in inspect_structure(structure, glove_grip_m=0.1524, **limits)]
    ['handrail-short', 'no-solids']
    """
    surroundings = Surroundings.of(structure.solids)
    rails = measure_rails(structure.handrails, surroundings)
    adrift = tuple(check_rails_adrift(rails, surroundings, rail_table))
    # A doubt that names the table and the unit that fits says more than one about lengths.
    unit_known = any(one.severity == "blocks" for one in adrift)
    unit = () if unit_known else check_length_unit(structure.handrails, glove_grip_m=glove_grip_m)
    return sorted_findings(
        (
            *unit,
            *check_any_solids(structure),
            *adrift,
            *check_rail_inside(rails, surroundings),
            *check_rail_standoff(rails, surroundings),
            *check_rail_normal(rails, surroundings),
            *check_rail_length(rails, glove_grip_m=glove_grip_m),
            *check_duplicate_rails(rails),
            *check_place_inside(structure, surroundings),
            *check_place_normal(structure, surroundings),
            *check_target_facing(structure, surroundings),
            *check_attach_inside(structure, surroundings),
            *check_clock_zero(structure),
            *check_tether_rating(structure, tether_point_rating_n=tether_point_rating_n),
            *check_kick_hardware(structure, kick_distance_m=kick_distance_m),
            *check_zone_swallows(structure),
            *check_stowage(structure),
            *check_unused_conditions(structure),
            *check_people(structure.people),
            *check_items(structure.items),
        )
    )


def check_any_solids(structure: Structure) -> tuple[Finding, ...]:
    """Find that there is nothing to keep clear of."""
    if structure.solids:
        return ()
    return (
        Finding(
            code="no-solids",
            severity="warns",
            message=(
                "the structure has no solids; nothing stands in anyone's way in the model, so "
                "every clearance and line of sight is too good; add the solids"
            ),
        ),
    )
