"""The clock of an outing: activities, what waits for what, times, slack and spread."""
