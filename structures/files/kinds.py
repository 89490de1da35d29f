"""Documents given in the place of another kind: one sentence says so, not one for each key."""

from collections.abc import Collection, Mapping
from typing import Any, Final, NamedTuple

from structures.errors import Problem

__all__ = ["other_kind"]


class _Kind(NamedTuple):
    """A kind of document, the keys that only it has, and what it is for."""

    name: str
    keys: frozenset[str]
    use: str


_KINDS: Final = (
    _Kind(
        "a structure",
        frozenset(
            ("solids", "handrails", "handholds", "sockets", "tether_points", "hatches", "worksites")
        ),
        "give it where STRUCTURE is asked for, as in `gripway inspect STRUCTURE`",
    ),
    _Kind(
        "a plan of an outing",
        frozenset(("structure", "acts", "errands", "gates", "get_aheads", "outing_limits")),
        "give it to `gripway outing` or `gripway pack`",
    ),
    _Kind(
        "a file of limits",
        frozenset(
            ("reach", "rate", "hook_reach", "corridor_radius", "reel_length", "max_turn_deg")
        ),
        "give it with --limits FILE",
    ),
)


def other_kind(
    name: str, given: Mapping[str, Any], own_keys: Collection[str]
) -> tuple[Problem, ...]:
    """Return the problem of a document that is of another kind than the one to be read.

    Parameters
    ----------
    name
        Of the document.
    given
        What it has.
    own_keys
        The keys of the kind that is to be read. A document with any that only this kind
        has is taken for one, with keys too many.
    """
    wanted = next((kind for kind in _KINDS if not kind.keys.isdisjoint(own_keys)), None)
    if wanted is None or not wanted.keys.isdisjoint(given):
        return ()
    found = next((kind for kind in _KINDS if not kind.keys.isdisjoint(given)), None)
    if found is None:
        return ()
    return (Problem(name, f"this is {found.name}, not {wanted.name}", found.use),)
