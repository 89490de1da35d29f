"""What acts and gates of a plan wait for: nothing in vain, and never for each other."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from routing.outings.plan_file.parts import Lists, get, texts
from structures.errors import Problem

__all__ = ["rings", "waits_in_vain"]


def waits_in_vain(lists: Lists) -> Iterator[Problem]:
    """Find what is always done and waits for what may not be done, or may be dropped."""
    yield from _waits_for_spare(lists)
    yield from _waits_for_droppable(lists)


def _waits_for_spare(lists: Lists) -> Iterator[Problem]:
    """Find what must be done and waits for what may not be done."""
    acts = lists.get("acts") or ()
    part_of = {get(act, "id"): get(act, "spare") for act in acts}
    for i, act in enumerate(acts):
        for j, one in enumerate(texts(get(act, "after"))):
            if part_of.get(one) not in {None, get(act, "spare")}:
                yield _spare_first(f"acts[{i}].after[{j}]", one, part_of[one])
    for i, gate in enumerate(lists.get("gates") or ()):
        for j, one in enumerate(texts(get(gate, "needs"))):
            if part_of.get(one) is not None:
                yield _spare_first(f"gates[{i}].needs[{j}]", one, part_of[one])


def _waits_for_droppable(lists: Lists) -> Iterator[Problem]:
    """Find what must be done and waits for what may be dropped: then it cannot be dropped."""
    acts = lists.get("acts") or ()
    part_of = {get(act, "id"): get(act, "may_drop") for act in acts}
    certain = [(f"acts[{i}].after", get(act, "after")) for i, act in enumerate(acts)
               if get(act, "spare") is None and get(act, "may_drop") is None]  # fmt: skip
    gates = [(f"gates[{i}].needs", get(gate, "needs")) for i, gate in
             enumerate(lists.get("gates") or ())]  # fmt: skip
    for place, waits in (*certain, *gates):
        for j, one in enumerate(texts(waits)):
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


def rings(lists: Lists) -> Iterator[Problem]:
    """Find acts and gates that wait for each other, so that none of them can ever begin."""
    acts, gates = lists.get("acts"), lists.get("gates") or ()
    if acts is None:
        return
    before: dict[str, list[str]] = {}
    last: dict[str, str] = {}
    for act in acts:
        one = get(act, "id")
        if not isinstance(one, str):
            return
        before[one] = texts(get(act, "after"))
        for who in dict.fromkeys((*texts(get(act, "who")), *texts(get(act, "still")))):
            if who in last:
                before[one].append(last[who])
            last[who] = one
    for gate in gates:
        one = get(gate, "id")
        if isinstance(one, str):
            before[one] = texts(get(gate, "needs"))
            for opened in texts(get(gate, "opens")):
                before.setdefault(opened, []).append(one)
    ring = _find_ring(before)
    if ring:
        places = {get(gate, "id"): f"gates[{i}].needs" for i, gate in enumerate(gates)}
        places |= {get(act, "id"): f"acts[{i}].after" for i, act in enumerate(acts)}
        order = {get(one, "id"): i for i, one in enumerate((*acts, *gates))}
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
