"""Whole outings: the plan file, the timeline, custody of items, safety over time."""
