"""Two people's routes: where their lines cross, and the cheapest pair whose lines do not."""
