"""The plan file of an outing: its records, its rules, and reading it with every problem at once."""
