"""What people do on a structure: moves, routes under tether rules, worksites and maps."""
