"""The review pack: an outing as one self-contained page that opens without a network."""
