"""From what was typed to a structure and a situation; what is wrong is said in one go."""

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from routing.cli.stages import stage
from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS, Limits
from structures.elements import (
    Condition,
    Element,
    Handhold,
    Handrail,
    Item,
    Person,
    Socket,
    TetherPoint,
)
from structures.errors import InvalidDocumentError, Problem
from structures.files.reader import StructureDocument, read_document, read_record
from structures.model import Structure

__all__ = ["Choices", "choose_situation", "load"]

_CLOSABLE: tuple[type[Element], ...] = (Handrail, Handhold, Socket, TetherPoint)


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the options of a command say about the situation."""

    when: Sequence[str] | None = None
    close: Sequence[str] | None = None
    person: str | None = None
    carry: str | None = None
    limits: Path | None = None


def load(path: Path) -> StructureDocument:
    """Read a structure, with progress."""
    with stage(f"reading {path.name}"):
        return read_document(path)


def choose_situation(structure: Structure, choices: Choices) -> Situation:
    """Return the situation that the options describe.

    Raises
    ------
    InvalidDocumentError
        An option names something the structure does not have; all such
        options are reported together.
    """
    problems: list[Problem] = []
    limits = DEFAULT_LIMITS if choices.limits is None else read_record(choices.limits, Limits)
    when = _pick_ids(structure, "--when", choices.when or (), (Condition,), problems)
    closed = _pick_ids(structure, "--close", choices.close or (), _CLOSABLE, problems)
    person = _pick_named(structure.people, "--person", choices.person, problems)
    carry = _pick_named(structure.items, "--carry", choices.carry, problems)
    if problems:
        raise InvalidDocumentError(tuple(problems))
    return Situation(
        limits=limits,
        person=person if isinstance(person, Person) else None,
        carry=carry if isinstance(carry, Item) else None,
        when=when,
        closed=closed,
    )


def _pick_ids(
    structure: Structure,
    option: str,
    wanted: Sequence[str],
    kinds: tuple[type[Element], ...],
    problems: list[Problem],
) -> tuple[str, ...]:
    known = [element.id for _, element in structure.elements() if isinstance(element, kinds)]
    problems.extend(_unknown(option, one, known) for one in wanted if one not in known)
    return tuple(sorted(set(wanted)))


def _pick_named(
    elements: Sequence[Element], option: str, wanted: str | None, problems: list[Problem]
) -> Element | None:
    if wanted is None:
        return None
    for element in elements:
        if element.id == wanted:
            return element
    named = [element for element in elements if element.name == wanted]
    if len(named) == 1:
        return named[0]
    known = [element.id for element in elements]
    problems.append(_unknown(option, wanted, known))
    return None


def _unknown(option: str, wanted: str, known: list[str]) -> Problem:
    nearest = get_close_matches(wanted, known, n=3) or sorted(known)[:8]
    allowed = f"known: {', '.join(nearest)}" if nearest else "this structure has none"
    return Problem(
        place=f"option {option}",
        message=f"nothing that {option} takes has the id {wanted!r}",
        remedy=allowed,
    )
