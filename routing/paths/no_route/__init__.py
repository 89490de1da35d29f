"""No route is an answer too: why, how far one gets, and what would open the way."""
