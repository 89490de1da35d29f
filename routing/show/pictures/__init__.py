"""Pictures of one worksite question: a restraint, a face, a tied payload, a cable, a bag."""
