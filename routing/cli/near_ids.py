"""What may have been meant by an id that is not there."""

from collections.abc import Iterable

__all__ = ["what_is_near"]


def what_is_near(wanted: str, known: Iterable[str], *, whose: str = "the structure") -> str:
    """Return the ids most like the one typed, or else some that there are, and whose they are.

    Examples
    --------
    >>> what_is_near("W9", ["W1", "hatch"])
    'did you mean W1?'
    >>> what_is_near("Mars", ["W1", "hatch"])
    'the structure has, for instance, W1, hatch'
    >>> what_is_near("lunch", [], whose="the plan")
    'the plan has none'
    """
    from structures.near_names import nearest_names

    ids = sorted(known)
    near = nearest_names(wanted, ids, cutoff=0.5)
    if near:
        return f"did you mean {' or '.join(near)}?"
    if ids:
        return f"{whose} has, for instance, {', '.join(ids[:8])}"
    return f"{whose} has none"
