"""Rules across a plan: what is named exists, ids are unique, and no acts wait for each other."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from routing.graph.sites import SITE_KINDS
from routing.limits import Limits
from routing.outings.choosing.errand_rules import check_errands
from routing.outings.plan_file.acts import OFF_STRUCTURE
from routing.outings.plan_file.grip_references import check_grips
from structures.built_in import built_in_restraints
from structures.elements import (
    AttachPoint,
    Condition,
    Element,
    Handhold,
    Handrail,
    Hatch,
    Socket,
    Target,
    TetherPoint,
    Zone,
)
from structures.errors import Problem
from structures.model import Structure
from structures.near_names import near_names

__all__ = ["check_plan"]

Lists = Mapping[str, Sequence[Any] | None]
"""The lists of a plan by key, as records or plain tables; None for one not read whole."""

_PARTS = ("people", "holders", "items", "acts", "gates", "get_aheads", "may_drop", "errands")
_CLOSABLE = (Handrail, Handhold, Socket, TetherPoint)


def check_plan(
    raw: Mapping[str, Any], structure: Structure | None, limits: Limits, lists: Lists
) -> tuple[Problem, ...]:
    """Return every duplicate id, dangling reference and ring of waiting of a plan.

    Parameters
    ----------
    raw
        The document, for what is not in a list of tables.
    structure
        None where it could not be read: then nothing is said about its ids.
    limits
        They say, with the reach of each person, where the grips of a handrail are.
    lists
        The plan's lists.
    """
    names = _Names(lists, structure)
    problems = [*_duplicates(lists), *_dangling(lists, names), *_top_level(raw, names)]
    if not problems:
        problems += [*_waits_for_spare(lists), *_waits_for_droppable(lists), *check_errands(lists)]
    if not problems:
        problems += _rings(lists)
    if structure is not None:
        problems += check_grips(lists, structure, limits)
    return tuple(problems)


def _get(part: Any, key: str) -> Any:
    return part.get(key) if isinstance(part, dict) else getattr(part, key, None)


def _texts(value: Any) -> list[str]:
    if isinstance(value, str):
        return [value]
    return [one for one in value if isinstance(one, str)] if isinstance(value, list | tuple) else []


def _ids(lists: Lists, key: str) -> set[str]:
    return {one for part in lists.get(key) or () for one in _texts(_get(part, "id"))}


def _duplicates(lists: Lists) -> Iterator[Problem]:
    seen: dict[str, str] = dict.fromkeys(OFF_STRUCTURE, "Gripway itself")
    for key in _PARTS:
        for i, part in enumerate(lists.get(key) or ()):
            for one in _texts(_get(part, "id")):
                if one in seen:
                    yield Problem(
                        place=f"{key}[{i}].id",
                        message=f"the id {one!r} is taken already by {seen[one]}",
                        remedy="give everything in the plan an id of its own",
                    )
                seen.setdefault(one, f"{key}[{i}]")


class _Kind(NamedTuple):
    """What a reference may name: how that is called, and the ids there are."""

    words: str
    known: set[str]
    certain: bool
    """Whether all ids are known; if not, nothing is said."""

    def __or__(self, other: "_Kind") -> "_Kind":
        return _Kind(
            f"{self.words} or {other.words}",
            self.known | other.known,
            self.certain and other.certain,
        )


class _Names:
    """The ids that a plan may name, by what they stand for."""

    def __init__(self, lists: Lists, structure: Structure | None) -> None:
        self.lists = lists
        self.structure = structure
        self.people = self._own("person of the plan", "people")
        self.acts = self._own("act", "acts") | self._own("gate", "gates")
        self.only_acts = self._own("act", "acts")
        self.holders = self._own("holder", "holders")
        self.get_aheads = self._own("get-ahead", "get_aheads")
        self.may_drop = self._own("group under may_drop", "may_drop")
        self.errands = self._own("errand", "errands")
        self.items = self._own("item", "items") | self._of("item of the structure", ("items",))
        self.sites = self._sites()
        self.places = self.sites | self.items | self.people | self.holders
        self.hatches = self._kind("hatch", (Hatch,))
        self.conditions = self._kind("condition", (Condition,))
        self.zones = self._kind("zone", (Zone,))
        self.points = self._kind("tether point", (TetherPoint,))
        self.closable = self._kind("handrail, handhold, socket or tether point", _CLOSABLE)
        self.sockets = self._kind("socket", (Socket,)) | self._worksites_at_sockets()
        self.crew = self._of("person of the structure", ("people",))
        self.bodies = self._of("body of the structure", ("bodies",))
        self.models = self._models()
        self.connectors = self._of("connector of the structure", ("connectors",))
        self.subjects = self._elements() | self._inner("target", "targets") | self.items
        self.attach = self._inner("attach point", "attach")

    def _own(self, words: str, key: str) -> _Kind:
        return _Kind(words, _ids(self.lists, key), key not in self.lists or _whole(self.lists, key))

    def _of(self, words: str, keys: tuple[str, ...]) -> _Kind:
        structure = self.structure
        known = () if structure is None else (e.id for k in keys for e in getattr(structure, k))
        return _Kind(words, set(known), structure is not None)

    def _models(self) -> _Kind:
        """Return what an item may be; the built-in restraint where the structure lists none."""
        words = "restraint, camera or cable of the structure"
        listed = self._of(words, ("restraints", "cameras", "cables"))
        if self.structure is None or self.structure.restraints:
            return listed
        built_in = {one.id for one in built_in_restraints()}
        return listed._replace(known=listed.known | built_in)

    def _kind(self, words: str, kinds: tuple[type[Element], ...]) -> _Kind:
        structure = self.structure
        elements = () if structure is None else structure.by_id.values()
        known = {element.id for element in elements if isinstance(element, kinds)}
        return _Kind(words, known, structure is not None)

    def _sites(self) -> _Kind:
        return self._kind("site (worksite, socket, handrail, hatch ...)", tuple(SITE_KINDS))

    def _worksites_at_sockets(self) -> _Kind:
        worksites = () if self.structure is None else self.structure.worksites
        known = {one.id for one in worksites if one.socket is not None}
        return _Kind("worksite at a socket", known, self.structure is not None)

    def _elements(self) -> _Kind:
        return self._kind("element of the structure", (Element,))

    def _inner(self, words: str, key: str) -> _Kind:
        structure = self.structure
        inner: Iterable[Target | AttachPoint] = (
            ()
            if structure is None
            else (one for worksite in structure.worksites for one in getattr(worksite, key))
        )
        return _Kind(words, {one.id for one in inner}, structure is not None)


def _whole(lists: Lists, key: str) -> bool:
    return lists.get(key) is not None


_Pick = Callable[[_Names], _Kind]

_REFERENCES: tuple[tuple[str, str, _Pick], ...] = (
    ("people", "person", lambda names: names.crew),
    ("people", "start", lambda names: names.hatches),
    ("people", "body", lambda names: names.bodies),
    ("people", "leaves", lambda names: names.points),
    ("holders", "at", lambda names: names.sites),
    ("items", "at", lambda names: names.places),
    ("items", "ends_at", lambda names: names.places),
    ("items", "model", lambda names: names.models),
    ("items", "spans", lambda names: names.sites),
    ("acts", "at", lambda names: names.sites),
    ("acts", "beside", lambda names: names.sites),
    ("acts", "to", lambda names: names.sites),
    ("acts", "via", lambda names: names.sites),
    ("acts", "plugs", lambda names: names.connectors),
    ("acts", "item", lambda names: names.items),
    ("acts", "out_of", lambda names: names.items | names.people),
    ("acts", "into", lambda names: names.items | names.people),
    ("acts", "using", lambda names: names.items),
    ("acts", "lets_go", lambda names: names.items),
    ("acts", "holds", lambda names: names.items),
    ("acts", "still", lambda names: names.people),
    ("acts", "after", lambda names: names.acts),
    ("acts", "spare", lambda names: names.get_aheads),
    ("acts", "may_drop", lambda names: names.may_drop),
    ("acts", "errand", lambda names: names.errands),
    ("errands", "who", lambda names: names.people),
    ("acts", "subject", lambda names: names.subjects),
    ("acts", "attach", lambda names: names.attach),
    ("acts", "sets", lambda names: names.conditions),
    ("acts", "clears", lambda names: names.conditions),
    ("gates", "needs", lambda names: names.acts),
    ("gates", "opens", lambda names: names.only_acts),
)
"""(list, key, what it may name)."""


def _dangling(lists: Lists, names: _Names) -> Iterator[Problem]:
    for key, field, pick in _REFERENCES:
        for i, part in enumerate(lists.get(key) or ()):
            if field == "at" and key == "acts" and _get(part, "does") == "set-up":
                yield from _unknown(part, field, names.sockets, f"{key}[{i}]", names)
            else:
                yield from _unknown(part, field, pick(names), f"{key}[{i}]", names)
    everybody = names.people | _Kind("inside or ground", set(OFF_STRUCTURE), certain=True)
    for i, act in enumerate(lists.get("acts") or ()):
        yield from _unknown(act, "who", everybody, f"acts[{i}]", names)
    stowed = {} if names.structure is None else {i.id: i for i in names.structure.items}
    for i, item in enumerate(lists.get("items") or ()):
        yield from _homeless(item, stowed, f"items[{i}]", names)


def _homeless(item: Any, stowed: Mapping[str, Any], place: str, names: _Names) -> Iterator[Problem]:
    one = _get(item, "id")
    if names.structure is None or not isinstance(one, str):
        return
    known = stowed.get(one)
    if _get(item, "at") is None and (known is None or known.stowed_at is None):
        yield Problem(
            place=f"{place}.at",
            message=f"nobody says where {one!r} is at first",
            remedy='add at = "...": a site, a bag, a person or a holder',
        )
    if known is None and (_get(item, "size") or _get(item, "size_m")) is None:
        yield Problem(
            place=f"{place}.size",
            message=f"{one!r} is no item of the structure, and its size is not given",
            remedy="add size = [x, y, z] and mass_kg",
        )
    if known is None and _get(item, "mass_kg") is None:
        yield Problem(
            place=f"{place}.mass_kg",
            message=f"{one!r} is no item of the structure, and its mass is not given",
            remedy="add size = [x, y, z] and mass_kg",
        )


def _unknown(part: Any, field: str, kind: _Kind, place: str, names: _Names) -> Iterator[Problem]:
    if not kind.certain:
        return
    value = _get(part, field)
    for j, one in enumerate(_texts(value)):
        if one in kind.known or _is_grip(one, kind, names):
            continue
        at = f"{place}.{field}" if isinstance(value, str) else f"{place}.{field}[{j}]"
        yield Problem(
            place=at, message=f"no {kind.words} has the id {one!r}", remedy=_hint(one, kind)
        )


def _is_grip(one: str, kind: _Kind, names: _Names) -> bool:
    """Take ``H12@0.250`` for a site as far as its handrail goes."""
    if not names.sites.known <= kind.known:
        return False
    rail, mark, _ = one.rpartition("@")
    return bool(mark) and rail in kind.known


def _hint(one: str, kind: _Kind) -> str:
    return near_names(one, kind.known)


def _top_level(raw: Mapping[str, Any], names: _Names) -> Iterator[Problem]:
    for key, kind in (
        ("when", names.conditions),
        ("closed", names.closable),
        ("hung_past", names.zones),
    ):
        value = raw.get(key)
        for j, one in enumerate(_texts(value)):
            if kind.certain and one not in kind.known:
                yield Problem(
                    place=f"{key}[{j}]",
                    message=f"no {kind.words} has the id {one!r}",
                    remedy=_hint(one, kind),
                )


def _waits_for_spare(lists: Lists) -> Iterator[Problem]:
    """Find what must be done and waits for what may not be done."""
    acts = lists.get("acts") or ()
    part_of = {_get(act, "id"): _get(act, "spare") for act in acts}
    for i, act in enumerate(acts):
        for j, one in enumerate(_texts(_get(act, "after"))):
            if part_of.get(one) not in {None, _get(act, "spare")}:
                yield _spare_first(f"acts[{i}].after[{j}]", one, part_of[one])
    for i, gate in enumerate(lists.get("gates") or ()):
        for j, one in enumerate(_texts(_get(gate, "needs"))):
            if part_of.get(one) is not None:
                yield _spare_first(f"gates[{i}].needs[{j}]", one, part_of[one])


def _waits_for_droppable(lists: Lists) -> Iterator[Problem]:
    """Find what must be done and waits for what may be dropped: then it cannot be dropped."""
    acts = lists.get("acts") or ()
    part_of = {_get(act, "id"): _get(act, "may_drop") for act in acts}
    certain = [(f"acts[{i}].after", _get(act, "after")) for i, act in enumerate(acts)
               if _get(act, "spare") is None and _get(act, "may_drop") is None]  # fmt: skip
    gates = [(f"gates[{i}].needs", _get(gate, "needs")) for i, gate in
             enumerate(lists.get("gates") or ())]  # fmt: skip
    for place, waits in (*certain, *gates):
        for j, one in enumerate(_texts(waits)):
            if part_of.get(one) is not None:
                yield Problem(
                    place=f"{place}[{j}]",
                    message=f"this is always done and waits for {one!r}, so {part_of[one]!r} "
                    "can never be dropped",
                    remedy="take the wait off, let this be dropped with it, or take may_drop off",
                )


def _spare_first(place: str, one: str, spare: Any) -> Problem:
    return Problem(
        place=place,
        message=f"this waits for {one!r}, which is part of the get-ahead {spare!r} and may not be "
        "done at all",
        remedy="wait for something that is always done, or make it part of the same get-ahead",
    )


def _rings(lists: Lists) -> Iterator[Problem]:
    """Find acts and gates that wait for each other, so that none of them can ever begin."""
    acts, gates = lists.get("acts"), lists.get("gates") or ()
    if acts is None:
        return
    before: dict[str, list[str]] = {}
    last: dict[str, str] = {}
    for act in acts:
        one = _get(act, "id")
        if not isinstance(one, str):
            return
        before[one] = _texts(_get(act, "after"))
        for who in dict.fromkeys((*_texts(_get(act, "who")), *_texts(_get(act, "still")))):
            if who in last:
                before[one].append(last[who])
            last[who] = one
    for gate in gates:
        one = _get(gate, "id")
        if isinstance(one, str):
            before[one] = _texts(_get(gate, "needs"))
            for opened in _texts(_get(gate, "opens")):
                before.setdefault(opened, []).append(one)
    ring = _find_ring(before)
    if ring:
        places = {_get(gate, "id"): f"gates[{i}].needs" for i, gate in enumerate(gates)}
        places |= {_get(act, "id"): f"acts[{i}].after" for i, act in enumerate(acts)}
        order = {_get(one, "id"): i for i, one in enumerate((*acts, *gates))}
        first = min(ring, key=lambda one: order[one])
        at = ring.index(first)
        way = [*ring[at:], *ring[:at], first]
        yield Problem(
            place=places[first],
            message=f"these wait for each other, so none can begin: {' after '.join(way)}",
            remedy="take one of the waits off, or put the acts in another order",
        )


def _find_ring(before: Mapping[str, Sequence[str]]) -> list[str]:
    """Return a ring of things that are each after the next one, or nothing."""
    done: set[str] = set()
    for start in before:
        way: list[str] = []
        waiting: list[tuple[str, Iterator[str]]] = [(start, iter(before[start]))]
        on_way = {start}
        way.append(start)
        while waiting:
            one, rest = waiting[-1]
            following = next((x for x in rest if x not in done), None)
            if following is None:
                waiting.pop()
                way.pop()
                on_way.discard(one)
                done.add(one)
            elif following in on_way:
                return way[way.index(following) :]
            else:
                waiting.append((following, iter(before.get(following, ()))))
                way.append(following)
                on_way.add(following)
    return []
