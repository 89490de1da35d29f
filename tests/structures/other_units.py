"""The same document written anew in another length unit, as somebody's converter would do it."""

from typing import Any

from structures.files.writer import document_of
from structures.model import Structure

__all__ = ["METRES", "document_in"]

METRES = {"m": 1.0, "ft": 0.3048, "in": 0.0254}

_NO_LENGTHS = {
    "across", "axis", "clock_zero", "facing", "normal", "up", "x_axis", "y_axis",
    "gain", "slow_factor", "frequency_mhz", "mass_kg", "power_w", "rating_n", "rating_nm",
}  # fmt: skip


def document_in(structure: Structure, unit: str) -> dict[str, Any]:
    """Return a structure as the document that it is in another unit, lengths divided by it."""
    found: dict[str, Any] = _converted(document_of(structure), METRES[unit])
    return found | {"length_unit": unit}


def _converted(value: Any, metres: float, key: str = "") -> Any:
    if key in _NO_LENGTHS or key.endswith("_deg"):
        return value
    if isinstance(value, dict):
        return {name: _converted(one, metres, name) for name, one in value.items()}
    if isinstance(value, list):
        return [_converted(one, metres, key) for one in value]
    return value / metres if isinstance(value, float) else value
