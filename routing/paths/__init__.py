"""Exact search for routes under tether rules, and the Route it returns."""
