"""The study of people: who gets to which worksite, and where it falls off, as chunks."""

from collections.abc import Iterator, Sequence
from typing import Any, Final

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.graph.ways import LENGTH_SLACK_M
from routing.paths.answers.results import InputDigest, Protocol
from routing.paths.tethers.kit import Kit
from routing.studies.pairs.case import make_pairs
from routing.studies.pairs.trips import Trip
from routing.studies.people.falling_off import FallingOff, falling_off
from routing.studies.people.feasible import PeopleCase
from routing.studies.running.study import Column, Json, Study, case_content
from structures.frozen import frozen
from structures.model import Structure

__all__ = ["PEOPLE_COLUMNS", "PeopleAsked", "people_study"]

PEOPLE_COLUMNS: Final = (
    Column("person", "text", "id of the person; empty: reach and rate of the limits"),
    Column("carry", "text", "id of the item carried; empty: nothing"),
    Column("protocol", "text", "tether protocol"),
    Column("worksite", "text", "id of the worksite"),
    Column("own_reach_m", "number", "the person's own reach, before what a load takes [m]"),
    Column("way", "text", "from the hatch: safe; unsafe: a finding blocks it; no way"),
    Column("seconds", "number", "least time from the hatch [s]"),
    Column("transfers", "count", "tether transfers on it"),
    Column("why", "text", "why it is unsafe or there is no way"),
    Column("falls_off_m", "number", "least own reach with which it is reached [m]"),
    Column("not_below_m", "number", "own reach with which it is not reached any more [m]"),
    Column("exact", "flag", "whether these two are no more than a micrometre apart"),
    Column("spare_m", "number", "own reach less the least one [m]; below 0: too small for it"),
)

_WAYS: Final = ("safe", "unsafe", "no way")


@frozen(kw_only=True, eq=False)
class PeopleAsked:
    """What is asked: whose ways, on which protocols, and up to which reach to look.

    Parameters
    ----------
    structure
        With references checked.
    situations
        One for each person and load; all else in them is the same.
    protocols
        Tether protocols.
    kit
        Reels that a person has.
    up_to_m
        The largest reach looked at [m].
    """

    structure: Structure
    situations: tuple[Situation, ...]
    protocols: tuple[Protocol, ...]
    kit: Kit
    up_to_m: float


def people_study(asked: PeopleAsked, inputs: tuple[InputDigest, ...] = ()) -> Study:
    """Return the study: rows by case, protocol and worksite."""
    return Study(
        name="people",
        columns=PEOPLE_COLUMNS,
        prepare=_prepare,
        work=_work,
        shared=asked,
        chunks=[
            [case, protocol]
            for case in range(len(asked.situations))
            for protocol in asked.protocols
        ],
        content=[case_content(asked.structure, one, asked.kit) for one in asked.situations],
        inputs=inputs,
        parameters={
            "protocols": list(asked.protocols),
            "reels_m": list(asked.kit.reels_m) if "reel" in asked.protocols else [],
            "up_to_m": asked.up_to_m,
        },
    )


@frozen(kw_only=True, eq=False)
class _Ready:
    """What is asked, and where worksites fall off, by all that this depends on.

    Reach and rate are not in it: people who differ in these alone share it.
    """

    asked: PeopleAsked
    falls: dict[tuple[object, ...], dict[str, FallingOff]]


def _prepare(asked: PeopleAsked) -> _Ready:
    return _Ready(asked=asked, falls={})


def _falling_off(ready: _Ready, case: PeopleCase, up_to_m: float) -> dict[str, FallingOff]:
    person, carry = case.situation.person, case.situation.carry
    key = (
        None if person is None else person.corridor_radius_m,
        None if carry is None else carry.id,
        case.protocol,
        up_to_m,
    )
    if key not in ready.falls:
        ready.falls[key] = falling_off(case, up_to_m)
    return ready.falls[key]


def _work(ready: _Ready, chunk: Json) -> Iterator[Sequence[Any]]:
    asked = ready.asked
    number, protocol = chunk
    situation = asked.situations[number]
    case = PeopleCase(
        structure=asked.structure, situation=situation, protocol=protocol, kit=asked.kit
    )
    person = situation.person
    own_m = situation.limits.reach_m
    if person is not None and person.reach_m is not None:
        own_m = person.reach_m
    trips = _from_hatches(case)
    for site, falls in _falling_off(ready, case, max(asked.up_to_m, own_m)).items():
        trip = trips[site]
        yield (
            None if person is None else person.id,
            None if situation.carry is None else situation.carry.id,
            protocol,
            site,
            own_m,
            trip.way,
            trip.seconds,
            trip.transfers,
            trip.why,
            falls.reach_m,
            falls.not_below_m,
            falls.exact,
            _spare_m(falls, own_m, LENGTH_SLACK_M / case.share),
        )


def _spare_m(falls: FallingOff, own_m: float, slack_m: float) -> float | None:
    """Return the own reach less the least one [m]; a reach at the limit does, so 0 there."""
    if falls.reach_m is None:
        return None
    spare_m = own_m - falls.reach_m
    return 0.0 if -slack_m <= spare_m < 0 else spare_m


def _from_hatches(case: PeopleCase) -> dict[str, Trip]:
    """Return for each worksite the best trip from any hatch, with the person's own reach."""
    hatches = sorted(hatch.id for hatch in case.structure.hatches)
    sites = [*hatches, *case.worksites]
    graph = build_graph(case.structure, case.situation)
    pairs = make_pairs(graph, sites, case.protocol, case.kit)
    from_each = list(pairs.trips(range(len(hatches))))
    return {
        site: min((trips[i] for trips in from_each), key=_rank)
        for i, site in enumerate(sites)
        if i >= len(hatches)
    }


def _rank(trip: Trip) -> tuple[int, float]:
    return (_WAYS.index(trip.way), trip.seconds or 0.0)
