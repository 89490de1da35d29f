"""Studies over many answers: closures, all pairs, time home, comparison, one executor seam."""
