"""What is told of an outing: answer records, run sheet, steps of each person, what changed."""
