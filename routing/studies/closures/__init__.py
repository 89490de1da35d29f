"""Closures: what becomes of all routes when elements are taken out of use."""
