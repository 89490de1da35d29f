"""Custody: where every item is at every moment, who has it, and what cannot be done."""
