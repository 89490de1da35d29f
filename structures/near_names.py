"""What to offer for a name that is not there: the ones most like it, or all of a short list."""

from collections.abc import Iterable

__all__ = ["near_names", "nearest_names"]

SHORT_LIST = 8
"""So many names are all given where none of them is alike."""


def near_names(wrong: str, known: Iterable[str]) -> str:
    """Return a remedy that names what can be meant; where there is nothing, to add it.

    Examples
    --------
    >>> near_names("W11", ["W1", "T2"])
    'did you mean W1?'
    >>> near_names("home", ["TP1", "TP2"])
    'there are TP1 and TP2; name one, or add it first'
    >>> near_names("home", [])
    'add it first'
    """
    from difflib import get_close_matches

    names = sorted(known)
    nearest = nearest_names(wrong, names)
    if nearest:
        return f"did you mean {' or '.join(nearest)}?"
    if not names:
        return "add it first"
    if len(names) <= SHORT_LIST:
        *most, last = names
        there = f"there are {', '.join(most)} and {last}" if most else f"there is only {last}"
        return f"{there}; name one, or add it first"
    nearest = get_close_matches(wrong, names, n=3, cutoff=0.0)
    return f"nearest among {len(names)}: {', '.join(nearest)}; name one, or add it first"


def nearest_names(
    wrong: str, known: Iterable[str], *, most: int = 3, cutoff: float = 0.6
) -> list[str]:
    """Return the names most like one that is not there; where some differ in case only, those.

    Parameters
    ----------
    wrong
        The name that is not there.
    known
        Those that are.
    most
        How many are returned at most.
    cutoff
        How alike they must be, from 0 (anything) to 1 (the same), by `difflib`.

    Examples
    --------
    >>> nearest_names("PGT", ["pgt", "PGTX"])
    ['pgt']
    >>> nearest_names("PGTY", ["pgt", "PGTX"])
    ['PGTX']
    """
    from difflib import get_close_matches

    names = list(known)
    folded = wrong.casefold()
    same = sorted(name for name in names if name.casefold() == folded)
    return same[:most] or get_close_matches(wrong, names, n=most, cutoff=cutoff)
