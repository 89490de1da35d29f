"""What there is to choose from: trade-offs, alternatives, a fallback, and what would save time."""
