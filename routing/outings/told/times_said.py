"""Times and margins of an outing as people say them, rounded to the safe side."""

from math import ceil, floor
from typing import Final

__all__ = [
    "clock",
    "duration",
    "left_of",
    "minutes_text",
    "over_of",
    "rounded_down",
    "total_said",
]

_MINUTE_S: Final = 60.0
_ROUNDING_S: Final = 1e-6
"""Less than this is rounding of sums, and no minute more [s]."""


def clock(seconds: float) -> str:
    """Return a time of the outing as people say it: hours and minutes.

    Examples
    --------
    >>> clock(5025.0)
    '1:23'
    """
    minutes = int(seconds / 60 + 1e-9)
    return f"{minutes // 60}:{minutes % 60:02d}"


def duration(seconds: float) -> str:
    """Return how long something takes in hours and minutes, rounded up: never less than it is.

    Examples
    --------
    >>> duration(5025.0)
    '1:24'
    """
    return clock(_MINUTE_S * _minutes_up(seconds))


def total_said(total_s: float, ways_missing: int) -> str:
    """Return how long an outing is; a lower bound, and said to be one, where ways are missing.

    Examples
    --------
    >>> total_said(5025.0, 0), total_said(5025.0, 2)
    ('1:24', 'MORE THAN 1:23')
    """
    return f"MORE THAN {clock(total_s)}" if ways_missing else duration(total_s)


def over_of(limit_s: float, taken_s: float) -> str:
    """Return by how much a limit is exceeded: the duration less the limit, both as shown.

    Examples
    --------
    >>> over_of(23400.0, 24570.0)
    '0:20'
    """
    return clock(_MINUTE_S * max(_minutes_up(taken_s) - int(limit_s / _MINUTE_S + 1e-9), 1))


def left_of(limit_s: float, taken_s: float) -> str:
    """Return what a limit leaves over: the limit less the duration, both as shown.

    Examples
    --------
    >>> left_of(23400.0, 23210.0)
    '0:03 left'
    >>> left_of(23400.0, 24570.0)
    'OVER by 0:20'
    """
    if taken_s > limit_s + _ROUNDING_S:
        return f"OVER by {over_of(limit_s, taken_s)}"
    left_min = int(limit_s / _MINUTE_S + 1e-9) - _minutes_up(taken_s)
    return f"{clock(_MINUTE_S * max(left_min, 0))} left"


def minutes_text(seconds: float) -> str:
    """Return how long something takes in minutes, rounded up to a tenth.

    Examples
    --------
    >>> minutes_text(126.1), minutes_text(120.0)
    ('2.2 min', '2.0 min')
    """
    return f"{ceil(seconds / 6.0 - _ROUNDING_S) / 10.0:.1f} min"


def rounded_down(value: float, decimals: int) -> str:
    """Return a margin as text, rounded down: never more than there is.

    Examples
    --------
    >>> rounded_down(24.46, 1), rounded_down(102.6 / 60.0, 0), rounded_down(0.3, 1)
    ('24.4', '1', '0.3')
    """
    scale = 10.0**decimals
    return f"{floor(value * scale + _ROUNDING_S) / scale:.{decimals}f}"


def _minutes_up(seconds: float) -> int:
    return ceil((seconds - _ROUNDING_S) / _MINUTE_S)
