"""Sight lines: from which grips a camera sees a face, and the fewest that see all of it."""
