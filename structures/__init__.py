"""What is outside a station: data, geometry and files. Knows nothing of routing."""
