"""The version that every result carries, read from the installed distribution."""

from functools import cache
from importlib.metadata import PackageNotFoundError, version

__all__ = ["gripway_version"]


@cache
def gripway_version() -> str:
    """Return the version of the installed distribution, or say that there is none."""
    try:
        return version("gripway")
    except PackageNotFoundError:
        return "unknown (not installed)"
