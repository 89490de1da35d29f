"""The study of return times, as chunks that can run anywhere."""

import threading
from collections.abc import Iterator, Sequence
from typing import Any, Final

from routing.graph.reach_graph import Grips
from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest, Protocol
from routing.paths.tethers.kit import Kit
from routing.studies.home.places import HomePlace, HomePlaces, verdict_of
from routing.studies.running.study import Column, Json, Study, case_content
from structures.frozen import frozen
from structures.model import Structure

__all__ = ["GRIP_KINDS", "HOME_COLUMNS", "HomeAsked", "home_study"]

GRIP_KINDS: Final = ("handrail", "handhold", "hatch", "socket")
"""By the codes of `Grips.kind`."""

HOME_COLUMNS: Final = (
    Column("person", "text", "id of the person; empty: reach and rate of the limits"),
    Column("carry", "text", "id of the item carried; empty: nothing"),
    Column("protocol", "text", "tether protocol"),
    Column("grip", "text", "id of the grip"),
    Column("element_kind", "text", "what the grip is on"),
    Column("element", "text", "its id"),
    Column("along_m", "number", "distance along the handrail [m]; empty elsewhere"),
    Column("x_m", "number", "position, +X forward [m]"),
    Column("y_m", "number", "position, +Y starboard [m]"),
    Column("z_m", "number", "position, +Z nadir [m]"),
    Column("out_s", "number", "least time out from the hatch [s]; empty: not reached"),
    Column("home_s", "number", "time home alone [s]; empty: no way"),
    Column("home_transfers", "count", "transfers on the way home alone"),
    Column("verdict", "text", "in time, too late, no way, or not held at the hatch: alone"),
    Column("why", "text", "why there is no way home alone"),
    Column("tow_s", "number", "time home with a partner in tow [s]; empty: no way"),
    Column("tow_transfers", "count", "transfers on the way home with a partner in tow"),
    Column("tow_verdict", "text", "in time, too late, no way, or not held: with a partner in tow"),
    Column("tow_why", "text", "why there is no way home with a partner in tow"),
)

_PARTS_ON_REELS: Final = 16
"""Where tethers are left outside every grip takes a search of its own: worth sharing out."""


@frozen(kw_only=True, eq=False)
class HomeAsked:
    """What is asked: return times of whom, on which protocols.

    Parameters
    ----------
    structure
        With references checked.
    situations
        One for each person and load; all else in them is the same.
    protocols
        Tether protocols.
    kit
        Reels that a person sets out with.
    leave
        Whether tethers may stay outside on the way home alone too (reel).
    not_held
        Protocols under which something blocks at a hatch: of them no row says *in time*.
    """

    structure: Structure
    situations: tuple[Situation, ...]
    protocols: tuple[Protocol, ...]
    kit: Kit
    leave: bool = False
    not_held: tuple[Protocol, ...] = ()


def home_study(asked: HomeAsked, inputs: tuple[InputDigest, ...] = ()) -> Study:
    """Return the study of return times: rows by case, protocol and grip."""
    chunks: list[Json] = []
    for case in range(len(asked.situations)):
        for protocol in asked.protocols:
            parts = _PARTS_ON_REELS if protocol == "reel" else 1
            chunks += [[case, protocol, part, parts] for part in range(parts)]
    return Study(
        name="home",
        columns=HOME_COLUMNS,
        prepare=_Prepared,
        work=_work,
        shared=asked,
        chunks=chunks,
        content=[case_content(asked.structure, one, asked.kit) for one in asked.situations],
        inputs=inputs,
        parameters={
            "protocols": list(asked.protocols),
            "reels_m": list(asked.kit.reels_m) if "reel" in asked.protocols else [],
            "tethers": "left" if asked.leave else "recovered",
            "not_held": list(asked.not_held),
        },
    )


class _Prepared:
    """The return times of the case worked on last, made when they are first needed."""

    def __init__(self, asked: HomeAsked) -> None:
        self.asked = asked
        self._lock = threading.Lock()
        self._made: tuple[Json, HomePlaces] | None = None

    def places(self, case: int, protocol: Protocol) -> HomePlaces:
        with self._lock:
            if self._made is None or self._made[0] != (case, protocol):
                asked = self.asked
                made = HomePlaces(
                    asked.structure,
                    asked.situations[case],
                    protocol,
                    asked.kit,
                    leave=asked.leave,
                )
                self._made = ((case, protocol), made)
            return self._made[1]


def _work(prepared: _Prepared, chunk: Json) -> Iterator[Sequence[Any]]:
    case, protocol, part, parts = chunk
    situation = prepared.asked.situations[case]
    who = (
        None if situation.person is None else situation.person.id,
        None if situation.carry is None else situation.carry.id,
        protocol,
    )
    places = prepared.places(case, protocol)
    first, last = (len(places) * share // parts for share in (part, part + 1))
    limit_s = situation.limits.time_home_limit_s
    held = protocol not in prepared.asked.not_held
    for place in places.places(first, last):
        yield (*who, *_where(places.graph.grips, place.grip), *_times(place, limit_s, held=held))


def _where(grips: Grips, grip: int) -> tuple[Any, ...]:
    kind = GRIP_KINDS[int(grips.kind[grip])]
    return (
        grips.ids[grip],
        kind,
        grips.element_ids[grip],
        float(grips.along_m[grip]) if kind == "handrail" else None,
        *grips.position_m[grip].tolist(),
    )


def _times(place: HomePlace, limit_s: float, *, held: bool) -> tuple[Any, ...]:
    found: list[Any] = [place.out_s]
    for home in (place.alone, place.tow):
        verdict = verdict_of(home, limit_s)
        if verdict == "in time" and not held:
            verdict = "not held"
        found += [home.seconds, home.transfers, verdict, home.why or None]
    return tuple(found)
