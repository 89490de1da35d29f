"""Which sites a study is about: all of some kinds, or those named."""

from collections.abc import Iterable, Sequence
from typing import Final

from routing.graph.sites import SITE_KINDS, SiteKind
from structures.elements import Element, Handhold, Handrail, Hatch, Socket, TetherPoint, Worksite
from structures.model import Structure

__all__ = ["DEFAULT_SITES", "SITE_WORDS", "choose_sites", "site_kind", "unknown_sites"]

SITE_WORDS: Final[dict[str, type[Element]]] = {
    "hatches": Hatch,
    "worksites": Worksite,
    "sockets": Socket,
    "handholds": Handhold,
    "tether-points": TetherPoint,
    "handrails": Handrail,
}
"""Words for all sites of one kind, in the order in which sites stand in an answer."""

DEFAULT_SITES: Final = ("hatches", "worksites")


def choose_sites(structure: Structure, wanted: Sequence[str]) -> tuple[str, ...]:
    """Return ids of sites, each once, by kind and id.

    Parameters
    ----------
    structure
        Where the sites are.
    wanted
        Words of `SITE_WORDS` and ids; what is neither is left out (see `unknown_sites`).
        A word always means the kind, also where a site has it for its id.
    """
    kinds = tuple(SITE_WORDS[one] for one in wanted if one in SITE_WORDS)
    named = {one for one in wanted if one not in SITE_WORDS}
    order = list(SITE_WORDS.values())
    found = [
        (order.index(type(element)), element.id)
        for _, element in structure.elements()
        if type(element) in SITE_KINDS and (isinstance(element, kinds) or element.id in named)
    ]
    return tuple(site for _, site in sorted(found))


def unknown_sites(structure: Structure, wanted: Iterable[str]) -> tuple[str, ...]:
    """Return what is neither a word for sites nor the id of one, in order."""
    known = {element.id for _, element in structure.elements() if type(element) in SITE_KINDS}
    return tuple(one for one in wanted if one not in SITE_WORDS and one not in known)


def site_kind(structure: Structure, site_id: str) -> SiteKind:
    """Return what kind of site an id names.

    Raises
    ------
    UnknownIdError
        No site has this id.
    """
    return SITE_KINDS[type(structure.find(site_id, tuple(SITE_KINDS)))]
