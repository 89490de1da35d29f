"""From what was typed to what is asked; all that is wrong with it is said in one go."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple, TypeAlias

from routing.cli.kit_option import kit_name, read_kit
from routing.cli.near_ids import what_is_near
from routing.cli.output_files import Target, check_targets
from routing.cli.stages import stage
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS, Limits
from routing.paths.answers.results import InputDigest, Protocol
from routing.paths.tethers.kit import Kit, Outfitting
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
from structures.files.reader import (
    RecordDocument,
    StructureDocument,
    read_document,
    read_record_document,
)
from structures.frozen import frozen
from structures.model import Structure
from structures.units import TableUnit

__all__ = ["CARRY", "PERSON", "Check", "Choices", "Question", "Trip", "ask", "pick_named"]

Trip: TypeAlias = tuple[tuple[str, str], ...]
"""(where it was typed, id) of each site of a route, in order."""

Check: TypeAlias = Callable[[Structure, list[Problem]], None]
"""Adds what is wrong about a command's own arguments."""


class _Option(NamedTuple):
    """An option that takes ids: of which kinds, and what these are called."""

    name: str
    takes: str
    kinds: tuple[type[Element], ...]


_WHEN: Final = _Option("--when", "condition", (Condition,))
_CLOSE: Final = _Option(
    "--close",
    "handrail, handhold, socket or tether point",
    (Handrail, Handhold, Socket, TetherPoint),
)
PERSON: Final = _Option("--person", "person", (Person,))
CARRY: Final = _Option("--carry", "item", (Item,))


@frozen(kw_only=True)
class Choices:
    """What the arguments and options of a command say, as typed."""

    when: Sequence[str] | None = None
    close: Sequence[str] | None = None
    person: str | None = None
    carry: str | None = None
    limits: Path | None = None
    reel: Sequence[str] | None = None
    protocol: Protocol | None = None
    kits: Sequence[str] | None = None
    """Kits to be compared, in the place of protocol and reels."""
    trips: Sequence[Trip] = ()
    """The routes that are asked for."""
    targets: Sequence[Target] = ()
    """Files that are to be written."""
    problems: Sequence[Problem] = ()
    """What is wrong with options that only this command has."""
    checks: Sequence[Check] = ()
    """What a command has to ask of the structure about arguments of its own."""


@frozen(kw_only=True)
class Question:
    """A structure as read, and the situation that is asked about."""

    structure: Structure
    inputs: tuple[InputDigest, ...]
    """The structure's document first."""
    situation: Situation
    tables: Mapping[str, TableUnit]
    """For each list that is from a file of its own: which, and in what unit."""
    protocol: Protocol | None = None
    """None where tethers do not matter."""
    kit: Kit | None = None
    """Reels, where the protocol is that of reels."""
    kits: tuple[Outfitting, ...] = ()
    """Kits to be compared, where several are asked about."""

    @property
    def outfitting(self) -> Outfitting:
        """What protocol and reels say, as the one kit that is asked about."""
        name = "leapfrog" if self.kit is None else kit_name(self.kit.reels_m)
        return Outfitting(name=name, protocol=self.protocol or "leapfrog", kit=self.kit)

    def reach_graph(self) -> ReachGraph:
        """Build the reach graph, with progress."""
        from routing.graph.build import build_graph

        with stage("building the reach graph"):
            return build_graph(self.structure, self.situation)


def ask(path: Path, choices: Choices) -> Question:
    """Read the structure and everything that was chosen about it.

    Raises
    ------
    InvalidDocumentError
        A file cannot be used, an option names something the structure does not
        have, or a file cannot be written where it should be; all such problems
        are reported together, before any long work.
    """
    problems: list[Problem] = list(choices.problems)
    document = _read_structure(path, problems)
    limits = _read_limits(choices.limits, problems)
    kits: tuple[Outfitting, ...] = ()
    if choices.kits:
        from routing.cli.kits_option import read_kits

        kits = read_kits(choices.kits, choices.reel, choices.protocol, problems)
        kit = None
    else:
        kit = read_kit(choices.reel, choices.protocol, limits.record, problems)
    read = [path] if choices.limits is None else [path, choices.limits]
    if document is not None:
        read += [path.parent / one.name for one in document.inputs[1:]]
    check_targets(choices.targets, read, problems)
    if document is None:
        raise InvalidDocumentError(tuple(problems))
    situation = _situation(document.structure, limits.record, choices, problems)
    if choices.trips:
        from routing.cli.sites import check_trips

        check_trips(document.structure, choices.trips, problems)
    for check in choices.checks:
        check(document.structure, problems)
    if problems:
        raise InvalidDocumentError(tuple(problems))
    return Question(
        structure=document.structure,
        inputs=tuple(
            InputDigest(name=one.name, sha256=one.sha256)
            for one in (*document.inputs, *limits.inputs)
        ),
        situation=situation,
        tables=document.tables,
        protocol=None if kits else choices.protocol,
        kit=kit,
        kits=kits,
    )


def _read_structure(path: Path, problems: list[Problem]) -> StructureDocument | None:
    try:
        with stage(f"reading {path.name}"):
            return read_document(path)
    except InvalidDocumentError as error:
        problems.extend(error.problems)
        return None


def _read_limits(path: Path | None, problems: list[Problem]) -> RecordDocument[Limits]:
    if path is not None:
        try:
            return read_record_document(path, Limits)
        except InvalidDocumentError as error:
            problems.extend(error.problems)
    return RecordDocument(DEFAULT_LIMITS, ())


def _situation(
    structure: Structure, limits: Limits, choices: Choices, problems: list[Problem]
) -> Situation:
    when = _pick_ids(structure, _WHEN, choices.when or (), problems)
    closed = _pick_ids(structure, _CLOSE, choices.close or (), problems)
    person = pick_named(structure.people, PERSON, choices.person, problems)
    carry = pick_named(structure.items, CARRY, choices.carry, problems)
    return Situation(
        limits=limits,
        person=person if isinstance(person, Person) else None,
        carry=carry if isinstance(carry, Item) else None,
        when=when,
        closed=closed,
    )


def _pick_ids(
    structure: Structure,
    option: _Option,
    wanted: Sequence[str],
    problems: list[Problem],
) -> tuple[str, ...]:
    """Return ids in order, each once."""
    for one in wanted:
        if not isinstance(structure.by_id.get(one), option.kinds):
            known = [e.id for _, e in structure.elements() if isinstance(e, option.kinds)]
            problems.append(_unknown(option, one, known))
    return tuple(sorted(set(wanted)))


def pick_named(
    elements: Sequence[Element], option: _Option, wanted: str | None, problems: list[Problem]
) -> Element | None:
    """Return the element with this id, or else the only one with this name."""
    if wanted is None:
        return None
    named = [element for element in elements if element.id == wanted] or [
        element for element in elements if element.name == wanted
    ]
    if len(named) == 1:
        return named[0]
    if named:
        ids = ", ".join(sorted(element.id for element in named))
        problems.append(
            Problem(
                place=f"option {option.name}",
                message=f"the name {wanted!r} is given {len(named)} times",
                remedy=f"give the id of one of them: {ids}",
            )
        )
    else:
        problems.append(_unknown(option, wanted, [element.id for element in elements]))
    return None


def _unknown(option: _Option, wanted: str, known: list[str]) -> Problem:
    return Problem(
        place=f"option {option.name}",
        message=f"no {option.takes} has the id {wanted!r}",
        remedy=what_is_near(wanted, known),
    )
