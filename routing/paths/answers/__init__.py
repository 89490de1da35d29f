"""What a route is once found: its records, margins, checks and the steps to paste."""
