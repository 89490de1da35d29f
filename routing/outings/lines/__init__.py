"""Two people's tether lines over the time of an outing: where they cross, and what clears them."""
