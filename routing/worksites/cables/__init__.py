"""Cable runs: over which ties a cable is laid, and what length it needs."""
