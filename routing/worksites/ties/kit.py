"""Equipment tethers: what chains are made of, and which chains a kit allows."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations_with_replacement
from typing import Final

from structures.equipment import EquipmentTether
from structures.model import Structure
from structures.units import FOOT_M, POUND_FORCE_N

__all__ = ["DEFAULT_TETHER", "Series", "TetherKit", "kit_of", "weakest_rating_n"]

DEFAULT_TETHER: Final = EquipmentTether(
    id="equipment-tether",
    name="retractable equipment tether",
    cinched_m=1 * FOOT_M,
    extended_m=6 * FOOT_M,
    rating_n=75 * POUND_FORCE_N,
    source=(
        "extended about 6 ft, JSC-20466, from memory; rating 75 lbf as of the tool-tether attach "
        "point, SSP 30256:001 Rev F table 3.1.3-1; cinched 1 ft, own planning assumption, no source"
    ),
)


def weakest_rating_n(chain: Iterable[EquipmentTether]) -> float | None:
    """Return the rating of a chain: that of its weakest link [N], ``None`` if one is unknown.

    Raises
    ------
    ValueError
        The chain has no tether.

    Examples
    --------
    >>> weak = DEFAULT_TETHER.model_copy(update={"rating_n": 200.0})
    >>> weakest_rating_n([DEFAULT_TETHER, weak, DEFAULT_TETHER])
    200.0
    """
    ratings = [tether.rating_n for tether in chain]
    if not ratings:
        raise ValueError("a chain has at least one tether; give it one")
    known = [rating for rating in ratings if rating is not None]
    return min(known) if len(known) == len(ratings) else None


@dataclass(frozen=True, slots=True)
class Series:
    """Tethers of a kit hooked to each other in a row.

    Parameters
    ----------
    used
        How many of each tether of the kit, in the kit's order.
    cinched_m, extended_m
        The shortest and the longest that the row can be [m].
    words
        What it is, for people: ``2 tethers in series``.
    """

    used: tuple[int, ...]
    cinched_m: float
    extended_m: float
    words: str

    @property
    def tethers(self) -> int:
        """How many tethers it takes."""
        return sum(self.used)

    @property
    def key(self) -> tuple[int, tuple[int, ...]]:
        """Order among series: fewest tethers, then most of the first in the kit."""
        return self.tethers, tuple(-n for n in self.used)


@dataclass(frozen=True)
class TetherKit:
    """The equipment tethers at hand, each kind with how many there are of it.

    Parameters
    ----------
    tethers
        Kinds in id order, each id once.

    Raises
    ------
    ValueError
        There is no kind, or two have the same id.
    """

    tethers: tuple[EquipmentTether, ...]

    def __post_init__(self) -> None:
        ids = [tether.id for tether in self.tethers]
        if not ids or ids != sorted(set(ids)):
            raise ValueError(
                f"a kit of {ids}: give one or more kinds of tether, each id once, in id order"
            )

    @classmethod
    def of(cls, tethers: Iterable[EquipmentTether]) -> "TetherKit":
        """Make a kit of kinds in any order."""
        return cls(tuple(sorted(tethers, key=lambda tether: tether.id)))

    @cached_property
    def limited(self) -> bool:
        """Whether there is a number of any kind that may be used up."""
        return any(tether.count is not None for tether in self.tethers)

    @property
    def counts(self) -> tuple[int | None, ...]:
        """How many there are of each kind, ``None`` for as many as needed."""
        return tuple(tether.count for tether in self.tethers)

    def links(self, used: Sequence[int]) -> list[EquipmentTether]:
        """Return the tethers of a series one by one."""
        return [tether for tether, n in zip(self.tethers, used, strict=True) for _ in range(n)]

    def fit_for(self, rating_n: float, *, unknown: bool = False) -> "TetherKit | None":
        """Return the kit without tethers that are rated too low, or not known to be enough.

        Parameters
        ----------
        rating_n
            What a chain must be rated for [N]; its weakest link decides, so
            that each of its tethers must be.
        unknown
            Whether tethers without a rating are kept all the same.
        """
        fit = tuple(
            tether
            for tether in self.tethers
            if (unknown if tether.rating_n is None else tether.rating_n >= rating_n)
        )
        return TetherKit(fit) if fit else None

    def series(self, count: int) -> tuple[Series, ...]:
        """Return every series of so many tethers that can be hooked to a handrail.

        One end of the row must be a large hook; all other hooks go into rings,
        which take any. The order in the row changes neither span nor rating.
        """
        return tuple(self._series(count))

    def _series(self, count: int) -> Iterator[Series]:
        kinds = range(len(self.tethers))
        for picked in combinations_with_replacement(kinds, count):
            used = tuple(picked.count(kind) for kind in kinds)
            links = self.links(used)
            enough = all(
                tether.count is None or n <= tether.count
                for tether, n in zip(self.tethers, used, strict=True)
            )
            if enough and any("large" in tether.hooks for tether in links):
                yield Series(
                    used,
                    sum(n * one.cinched_m for n, one in zip(used, self.tethers, strict=True)),
                    sum(n * one.extended_m for n, one in zip(used, self.tethers, strict=True)),
                    self._words(used),
                )

    def _words(self, used: tuple[int, ...]) -> str:
        count = sum(used)
        words = f"{count} tether{'s' if count > 1 else ''} in series"
        if len(self.tethers) == 1:
            return words
        parts = [f"{n} x {one.id}" for n, one in zip(used, self.tethers, strict=True) if n]
        return f"{words} ({', '.join(parts)})"


def kit_of(structure: Structure) -> TetherKit:
    """Return the kit that a structure lists, or as many default tethers as are needed."""
    return TetherKit.of(structure.equipment_tethers or (DEFAULT_TETHER,))
