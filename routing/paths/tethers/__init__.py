"""Safety tethers in the search: kits, stacks of stays with their lays, exact search."""
