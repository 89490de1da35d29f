"""What is chosen of an outing: get-aheads, what to drop when late, order and split of errands."""
