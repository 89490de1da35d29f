"""The caution that every answer carries which a person could act on."""

from typing import Final

__all__ = ["CAUTION"]

CAUTION: Final = (
    "CAUTION: planning aid, not certified for flight. Flight rules, hardware certification data "
    "and qualified EVA and safety staff decide."
)
