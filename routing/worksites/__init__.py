"""What must hold at a worksite: tether chains, restraints, sight lines, cables."""
