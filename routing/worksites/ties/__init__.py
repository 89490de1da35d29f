"""Equipment-tether chains: what holds a payload, held and seated, from which handrail."""
