"""Which row of a table belongs to which site, where there are fewer rows than sites."""

from collections.abc import Sequence
from typing import Final

__all__ = ["KeptRows", "most_rows", "rows_to_make"]

_LEAST_ROWS: Final = 64
_BYTES: Final = 64_000_000
"""What a table may take, but for small tables of very many nodes."""


def most_rows(nodes: int, bytes_each: int) -> int:
    """Return how many rows are kept, of so many nodes and bytes a node."""
    return max(_LEAST_ROWS, _BYTES // max(nodes * bytes_each, 1))


class KeptRows:
    """Rows of a table for sites; those asked for longest ago make room.

    Parameters
    ----------
    most
        How many rows there are.

    Examples
    --------
    >>> kept = KeptRows(2)
    >>> kept.place([(4,), (5,)]), kept.place([(4,)]), kept.place([(6,), (4,)])
    ({(4,): 0, (5,): 1}, {}, {(6,): 1})
    >>> kept.row
    {(4,): 0, (6,): 1}
    """

    def __init__(self, most: int) -> None:
        self.most = most
        self.row: dict[tuple[int, ...], int] = {}
        """By the nodes of the site."""

    def place(self, sites: Sequence[tuple[int, ...]]) -> dict[tuple[int, ...], int]:
        """Give each site a row; return those that have to be filled in.

        Parameters
        ----------
        sites
            Different ones, at most as many as there are rows.
        """
        known = {site: self.row.pop(site) for site in sites if site in self.row}
        missing = [site for site in sites if site not in known]
        while len(self.row) + len(sites) > self.most:
            del self.row[next(iter(self.row))]
        taken = {*self.row.values(), *known.values()}
        free = (row for row in range(self.most) if row not in taken)
        made = dict(zip(missing, free, strict=False))
        self.row.update({**known, **made})
        return made

    @property
    def used(self) -> int:
        """Up to which row there is one for a site."""
        return max(self.row.values(), default=-1) + 1

    def turns(self, sites: Sequence[tuple[int, ...]]) -> list[int]:
        """Return in which turn each site is asked for, if no turn asks for more than have room.

        Examples
        --------
        >>> KeptRows(2).turns([(7,), (8,), (7,), (9,)])
        [0, 0, 0, 1]
        """
        number = {site: i for i, site in enumerate(dict.fromkeys(sites))}
        return [number[site] // self.most for site in sites]


def rows_to_make(there: int, needed: int, most: int) -> int:
    """Return how many rows a table gets that has some and needs others: few are moved often.

    Examples
    --------
    >>> rows_to_make(4, 3, 100), rows_to_make(4, 5, 100), rows_to_make(4, 5, 6)
    (4, 8, 6)
    """
    return there if needed <= there else min(max(needed, 2 * there), most)
