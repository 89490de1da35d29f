"""Exact 3-D geometry on solids: distance, moving-ball clearance, line of sight, taut lines."""
