"""The answers of two revisions as a study, in chunks that can run anywhere."""

import threading
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest, Protocol
from routing.paths.tethers.kit import Kit
from routing.studies.revisions import Answers, AnswerState, questions_of, worksite_answers
from routing.studies.running.study import Column, Json, Row, Study, case_content
from structures.frozen import frozen
from structures.model import Structure

__all__ = ["ANSWER_COLUMNS", "Revisions", "answers_of", "revision_study"]

ANSWER_COLUMNS: Final = (
    Column("revision", "text", "old or new"),
    Column("worksite", "text", "id of the worksite"),
    Column("question", "text", "route on leapfrog, route on reels, or equipment tethers"),
    Column("verdict", "text", "the answer"),
    Column("reason", "text", "why it is not a good one"),
    Column("start", "text", "hatch that the route begins at"),
    Column("seconds", "number", "least time from the hatch [s]"),
    Column("transfers", "count", "tether transfers"),
    Column("exposure_s", "number", "of the seconds, those inside slow-down zones [s]"),
    Column("tethers", "count", "equipment tethers in series"),
    Column("reach_left_m", "number", "reach less the longest move between elements [m]"),
    Column("turn_left_deg", "number", "turn limit less the sharpest turn [deg]"),
    Column("clearance_m", "number", "least room beyond the body corridor [m]"),
    Column("line_left_m", "number", "least line left on a reel, the reserve included [m]"),
    Column("home_s", "number", "longest time home from a hold of it, tethers recovered [s]"),
    Column("tether_margin_m", "number", "margin of the chain of equipment tethers [m]"),
    Column("way", "texts", "elements of the route in order, or what the chain is tied to"),
)
_SIDES: Final = ("old", "new")


@frozen(kw_only=True, eq=False)
class Revisions:
    """Two revisions, and what is asked of both.

    Parameters
    ----------
    structures
        The old one and the new one, with references checked.
    situations
        Who moves how in each of them: the same person, load and conditions.
    protocols
        Tether protocols.
    kit
        Reels that the person has.
    """

    structures: tuple[Structure, Structure]
    situations: tuple[Situation, Situation]
    protocols: tuple[Protocol, ...]
    kit: Kit


def revision_study(asked: Revisions, inputs: tuple[InputDigest, ...] = ()) -> Study:
    """Return the study of all answers of both revisions, the old ones first."""
    return Study(
        name="compare",
        columns=ANSWER_COLUMNS,
        prepare=_Prepared,
        work=_work,
        shared=asked,
        chunks=[[side, asking] for side in range(2) for asking in questions_of(asked.protocols)],
        content=[
            case_content(structure, situation, asked.kit)
            for structure, situation in zip(asked.structures, asked.situations, strict=True)
        ],
        inputs=inputs,
        parameters={
            "protocols": list(asked.protocols),
            "reels_m": list(asked.kit.reels_m) if "reel" in asked.protocols else [],
        },
    )


def answers_of(rows: Iterable[Row]) -> tuple[Answers, Answers]:
    """Return the answers of the old revision and of the new one from the rows of the study."""
    found: tuple[dict[Any, AnswerState], dict[Any, AnswerState]] = ({}, {})
    names = [column.name for column in ANSWER_COLUMNS[3:]]
    for row in rows:
        side, worksite, question, *values = row
        state = {name: one for name, one in zip(names, values, strict=True) if one is not None}
        found[_SIDES.index(str(side))][worksite, question] = AnswerState.from_document(state)
    return found


class _Prepared:
    """The reach graph of the revision worked on last, made when it is first needed."""

    def __init__(self, asked: Revisions) -> None:
        self.asked = asked
        self._lock = threading.Lock()
        self._made: tuple[int, ReachGraph] | None = None

    def graph(self, side: int) -> ReachGraph:
        with self._lock:
            if self._made is None or self._made[0] != side:
                asked = self.asked
                graph = build_graph(asked.structures[side], asked.situations[side])
                self._made = (side, graph)
            return self._made[1]


def _work(prepared: _Prepared, chunk: Json) -> Iterator[Sequence[Any]]:
    side, question = chunk
    found = worksite_answers(prepared.graph(side), question, kit=prepared.asked.kit)
    for worksite, state in found.items():
        values = (getattr(state, column.name) for column in ANSWER_COLUMNS[3:])
        yield (_SIDES[side], worksite, question, *values)
