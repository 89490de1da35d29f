"""Charts: the profile of a route and the timeline of an outing."""
