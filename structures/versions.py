"""Revision and date of data in words, also where the document gives none."""

__all__ = ["date_text", "revision_text"]


def revision_text(revision: str, of: str = "") -> str:
    """Return which revision it is (of what, if that is said), or that none is given.

    Examples
    --------
    >>> revision_text("C"), revision_text("")
    ('revision C', 'no revision given')
    >>> revision_text("C", of="Plan"), revision_text("", of="Plan")
    ('Plan revision C', 'Plan without a revision')
    """
    if revision.strip():
        return f"{of} revision {revision}".lstrip()
    return f"{of} without a revision" if of else "no revision given"


def date_text(date: str) -> str:
    """Return of which date data is, or that none is given.

    Examples
    --------
    >>> date_text("2031-03-14"), date_text("")
    ('data of 2031-03-14', 'no date given')
    """
    return f"data of {date}" if date.strip() else "no date given"
