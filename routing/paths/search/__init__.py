"""Searches over networks that know nothing of people or tethers, plain or compiled."""
