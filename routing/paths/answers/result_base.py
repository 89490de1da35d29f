"""The base of all result records."""

from typing import Any

from pydantic import BaseModel, ConfigDict

__all__ = ["Result"]


class Result(BaseModel):
    """Base of all result records: frozen, closed, no NaN, units in the names."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        defer_build=True,
        allow_inf_nan=False,
        hide_input_in_errors=True,
    )

    def to_document(self) -> dict[str, Any]:
        """Return the record as JSON values; keys that do not apply are left out."""
        return self.model_dump(mode="json", exclude_none=True)
