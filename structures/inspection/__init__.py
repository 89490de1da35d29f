"""Findings about a structure that is legal but doubtful."""

from structures.inspection.inspect_structure import inspect_structure

__all__ = ["inspect_structure"]
