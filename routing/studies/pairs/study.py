"""The study of pairs, as chunks that can run anywhere."""

import threading
from collections.abc import Iterator, Sequence
from dataclasses import fields
from typing import Any, Final

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest, Protocol
from routing.paths.tethers.kit import Kit
from routing.studies.pairs.case import LeapfrogPairs, ReelPairs, make_pairs
from routing.studies.pairs.trips import TRIP_COLUMNS, Trip
from routing.studies.running.study import Column, Json, Study, case_content
from routing.studies.site_lists import site_kind
from structures.frozen import frozen
from structures.model import Structure

__all__ = ["PAIR_COLUMNS", "PairsAsked", "pairs_study"]

PAIR_COLUMNS: Final = (
    Column("person", "text", "id of the person; empty: reach and rate of the limits"),
    Column("carry", "text", "id of the item carried; empty: nothing"),
    Column("protocol", "text", "tether protocol"),
    Column("from_kind", "text", "kind of the site that the trip starts from"),
    Column("from", "text", "its id"),
    Column("to_kind", "text", "kind of the site that the trip goes to"),
    Column("to", "text", "its id"),
    *TRIP_COLUMNS,
)

_TRIPS_A_CHUNK: Final = 2000


@frozen(kw_only=True, eq=False)
class PairsAsked:
    """What is asked: between which sites, for whom, on which protocols.

    Parameters
    ----------
    structure
        With references checked.
    situations
        One for each person and load; all else in them is the same.
    sites
        Ids, in the order in which they stand in the answer.
    protocols
        Tether protocols.
    kit
        Reels that a person has.
    """

    structure: Structure
    situations: tuple[Situation, ...]
    sites: tuple[str, ...]
    protocols: tuple[Protocol, ...]
    kit: Kit


def pairs_study(asked: PairsAsked, inputs: tuple[InputDigest, ...] = ()) -> Study:
    """Return the study of all ordered pairs of two different sites.

    Rows go by person and load as asked, by protocol, then by start and goal.
    """
    step = max(1, _TRIPS_A_CHUNK // max(1, len(asked.sites)))
    starts = range(0, len(asked.sites), step)
    return Study(
        name="pairs",
        columns=PAIR_COLUMNS,
        prepare=_Prepared,
        work=_work,
        shared=asked,
        chunks=[
            [case, protocol, first, min(first + step, len(asked.sites))]
            for case in range(len(asked.situations))
            for protocol in asked.protocols
            for first in starts
        ],
        content=[case_content(asked.structure, one, asked.kit) for one in asked.situations],
        inputs=inputs,
        parameters={
            "sites": list(asked.sites),
            "protocols": list(asked.protocols),
            "reels_m": list(asked.kit.reels_m) if "reel" in asked.protocols else [],
        },
    )


class _Prepared:
    """The ground of the case worked on last, made when it is first needed in a process."""

    def __init__(self, asked: PairsAsked) -> None:
        self.asked = asked
        self._lock = threading.Lock()
        self._made: tuple[Json, LeapfrogPairs | ReelPairs] | None = None

    def pairs(self, case: int, protocol: Protocol) -> LeapfrogPairs | ReelPairs:
        with self._lock:
            if self._made is None or self._made[0] != (case, protocol):
                graph = build_graph(self.asked.structure, self.asked.situations[case])
                made = make_pairs(graph, self.asked.sites, protocol, self.asked.kit)
                self._made = ((case, protocol), made)
            return self._made[1]


def _work(prepared: _Prepared, chunk: Json) -> Iterator[Sequence[Any]]:
    case, protocol, first, last = chunk
    asked = prepared.asked
    situation = asked.situations[case]
    who = (
        None if situation.person is None else situation.person.id,
        None if situation.carry is None else situation.carry.id,
        protocol,
    )
    sites = [(site_kind(asked.structure, site), site) for site in asked.sites]
    starts = range(first, last)
    for start, trips in zip(starts, prepared.pairs(case, protocol).trips(starts), strict=True):
        for goal, trip in enumerate(trips):
            if goal != start:
                yield (*who, *sites[start], *sites[goal], *_values(trip))


def _values(trip: Trip) -> tuple[Any, ...]:
    return tuple(getattr(trip, field.name) for field in fields(trip))
