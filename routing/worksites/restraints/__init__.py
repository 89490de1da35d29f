"""Foot restraints: which sockets, settings and bodies put hands and eyes on the work."""
