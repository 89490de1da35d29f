"""The commands: one module each. Only this package prints."""
