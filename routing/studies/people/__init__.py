"""People: who gets to which worksite, and from which reach on."""
