"""The reach graph: grips, the moves between them, and what each move costs."""
