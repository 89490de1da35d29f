"""Zones: their volume in space, and which of them count under given conditions."""

from structures.elements import Condition, Transmitter, Zone
from structures.model import Structure
from structures.radio import transmitter_radius_m
from structures.shapes import Shape, Sphere

__all__ = ["active_zones", "closed_by", "transmitter_radius_m", "zone_shape"]


def zone_shape(zone: Zone) -> Shape:
    """Return the volume of a zone as a shape.

    A transmitter becomes a ball round its antenna, with the radius of
    `transmitter_radius_m`.
    """
    volume = zone.volume
    if isinstance(volume, Transmitter):
        radius_m = transmitter_radius_m(volume.power_w, volume.gain, volume.frequency_mhz)
        # What the record of the transmitter has checked is not checked again: that would
        # make ready, in a cold answer, what reads spheres.
        return Sphere.model_construct(center_m=volume.center_m, radius_m=radius_m)
    return volume


def active_zones(structure: Structure, when: tuple[str, ...] = ()) -> tuple[Zone, ...]:
    """Return the zones that count under some conditions, in id order.

    Parameters
    ----------
    structure
        The structure.
    when
        Ids of the conditions in force, in any order.

    Returns
    -------
    tuple of Zone
        Zones that name no condition (they always count) and zones that name
        at least one of those in force.

    Raises
    ------
    UnknownIdError
        An id in ``when`` is no condition of the structure: a misspelt
        condition must not leave a zone out.
    """
    in_force = {condition.id for condition in _conditions(structure, when)}
    counting = (zone for zone in structure.zones if not zone.when or in_force & set(zone.when))
    return tuple(sorted(counting, key=lambda zone: zone.id))


def closed_by(structure: Structure, when: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Return the ids of handrails and handholds that conditions close, sorted.

    Parameters and errors as in `active_zones`.
    """
    return tuple(
        sorted({i for condition in _conditions(structure, when) for i in condition.closes})
    )


def _conditions(structure: Structure, when: tuple[str, ...]) -> list[Condition]:
    return [structure.find(condition_id, (Condition,)) for condition_id in when]
