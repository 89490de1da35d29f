"""The version that every result carries; the build takes it from here too."""

__all__ = ["VERSION", "gripway_version"]

# A constant, because to ask the installed distribution costs a cold answer 20 ms.
VERSION = "0.1.0"


def gripway_version() -> str:
    """Return the version of Gripway."""
    return VERSION
