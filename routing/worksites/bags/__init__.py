"""Bags and covers: where they can be tied near a worksite."""
