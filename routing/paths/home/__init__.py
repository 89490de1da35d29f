"""The way home, and how long it takes: from a tether state or from any hold of a route."""
