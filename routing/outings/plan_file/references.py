"""Rules across a plan: what is named exists and ids are unique; all checks across it begin here."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from routing.graph.sites import SITE_KINDS
from routing.limits import Limits
from routing.outings.choosing.errand_rules import check_errands
from routing.outings.plan_file.acts import OFF_STRUCTURE
from routing.outings.plan_file.grip_references import check_grips
from routing.outings.plan_file.parts import Lists, get, texts
from routing.outings.plan_file.waits import rings, waits_in_vain
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
        problems += [*waits_in_vain(lists), *check_errands(lists)]
    if not problems:
        problems += rings(lists)
    if structure is not None:
        problems += check_grips(lists, structure, limits)
    return tuple(problems)


def _ids(lists: Lists, key: str) -> set[str]:
    return {one for part in lists.get(key) or () for one in texts(get(part, "id"))}


def _duplicates(lists: Lists) -> Iterator[Problem]:
    seen: dict[str, str] = dict.fromkeys(OFF_STRUCTURE, "Gripway itself")
    for key in _PARTS:
        for i, part in enumerate(lists.get(key) or ()):
            for one in texts(get(part, "id")):
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
            if field == "at" and key == "acts" and get(part, "does") == "set-up":
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
    one = get(item, "id")
    if names.structure is None or not isinstance(one, str):
        return
    known = stowed.get(one)
    if get(item, "at") is None and (known is None or known.stowed_at is None):
        yield Problem(
            place=f"{place}.at",
            message=f"nobody says where {one!r} is at first",
            remedy='add at = "...": a site, a bag, a person or a holder',
        )
    if known is None and (get(item, "size") or get(item, "size_m")) is None:
        yield Problem(
            place=f"{place}.size",
            message=f"{one!r} is no item of the structure, and its size is not given",
            remedy="add size = [x, y, z] and mass_kg",
        )
    if known is None and get(item, "mass_kg") is None:
        yield Problem(
            place=f"{place}.mass_kg",
            message=f"{one!r} is no item of the structure, and its mass is not given",
            remedy="add size = [x, y, z] and mass_kg",
        )


def _unknown(part: Any, field: str, kind: _Kind, place: str, names: _Names) -> Iterator[Problem]:
    if not kind.certain:
        return
    value = get(part, field)
    for j, one in enumerate(texts(value)):
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
        for j, one in enumerate(texts(value)):
            if kind.certain and one not in kind.known:
                yield Problem(
                    place=f"{key}[{j}]",
                    message=f"no {kind.words} has the id {one!r}",
                    remedy=_hint(one, kind),
                )
