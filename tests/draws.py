"""How many random cases a test draws."""

import os

__all__ = ["draws"]

_ONE_OF = int(os.environ.get("GRIPWAY_ONE_DRAW_OF", "1"))


def draws(count: int) -> int:
    """Return how many of `count` random cases are drawn: all, unless only a part is asked for.

    `GRIPWAY_ONE_DRAW_OF=4` draws a quarter. What random cases find out is whether our own
    code is right, so `.ci/run` draws all of them once, on current versions, and a part of them
    where it asks whether the oldest versions of the libraries do as well.
    """
    return max(1, count // _ONE_OF)
