"""What the acts of an outing ask the worksites."""
