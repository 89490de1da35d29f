"""What the second of two people has that the first one has not: options of `gripway both`."""

from collections.abc import Sequence
from dataclasses import replace

from routing.cli.kit_option import MOST_REELS, read_length_m
from routing.cli.question import CARRY, PERSON, Question, pick_named
from routing.cli.stages import stage
from routing.graph.reach_graph import ReachGraph
from routing.paths.tethers.kit import Kit
from structures.elements import Item, Person
from structures.errors import Problem
from structures.model import Structure

__all__ = ["SecondPerson"]


class SecondPerson:
    """The second person's options as typed, and after `check` what they name."""

    def __init__(
        self, *, person: str | None, carry: str | None, reel: Sequence[str] | None
    ) -> None:
        self._typed = (person, carry, tuple(reel or ()))
        self._person: Person | None = None
        self._carry: Item | None = None
        self.kit: Kit | None = None
        """None where the reels are those of the first person."""

    def check(self, structure: Structure, problems: list[Problem]) -> None:
        """Look up what is named, and add what is wrong."""
        person, carry, reel = self._typed
        found = pick_named(
            structure.people, PERSON._replace(name="--second-person"), person, problems
        )
        item = pick_named(structure.items, CARRY._replace(name="--second-carry"), carry, problems)
        self._person = found if isinstance(found, Person) else None
        self._carry = item if isinstance(item, Item) else None
        if len(reel) > MOST_REELS:
            problems.append(
                Problem(
                    place="option --second-reel",
                    message=f"{len(reel)} reels are given",
                    remedy=f"the most allowed are {MOST_REELS}",
                )
            )
            return
        lengths_m = [read_length_m(text, "option --second-reel", problems) for text in reel]
        known_m = tuple(length_m for length_m in lengths_m if length_m is not None)
        if known_m:
            self.kit = Kit(reels_m=known_m)

    def reach_graph(self, question: Question) -> ReachGraph | None:
        """Build the reach graph of the second person; None where it is that of the first."""
        situation = question.situation
        if self._person is not None:
            situation = replace(situation, person=self._person)
        if self._carry is not None:
            situation = replace(situation, carry=self._carry)
        if situation == question.situation:
            return None
        from routing.graph.build import build_graph

        with stage("building the second person's reach graph"):
            return build_graph(question.structure, situation)
