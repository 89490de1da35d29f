"""Rules of a plan's errands: each stands in a row, is one person's, and is there as a whole."""

from collections.abc import Iterator, Sequence
from typing import Any

from routing.outings.plan_file.parts import Lists, get
from structures.errors import Problem

__all__ = ["check_errands"]


def check_errands(lists: Lists) -> Iterator[Problem]:
    """Yield what keeps an errand from being moved as a whole, and errands without acts."""
    acts = lists.get("acts") or ()
    for i, errand in enumerate(lists.get("errands") or ()):
        name = get(errand, "id")
        numbers = [n for n, act in enumerate(acts) if get(act, "errand") == name]
        if not numbers:
            yield Problem(
                place=f"errands[{i}].id",
                message=f"no act is part of the errand {name!r}",
                remedy=f"write errand = {name!r} with its acts, or take it off",
            )
            continue
        if get(acts[numbers[0]], "at") is None:
            yield Problem(
                place=f"acts[{numbers[0]}].at",
                message=f"the errand {name!r} begins nowhere: who does what before it is free",
                remedy="say at which site its first act is done",
            )
        yield from _in_a_row(name, numbers, acts)
        yield from _alike(name, numbers, acts)
        who, may = _who(acts[numbers[0]]), list(get(errand, "who") or ())
        if may and who not in may:
            yield Problem(
                place=f"acts[{numbers[0]}].who",
                message=f"{who} does the errand {name!r}, but only {', '.join(may)} may",
                remedy=f"name {who} under who of the errand, or somebody who may in its acts",
            )


def _who(act: Any) -> str:
    return str((get(act, "who") or ("",))[0])


def _in_a_row(name: str, numbers: Sequence[int], acts: Sequence[Any]) -> Iterator[Problem]:
    for n in range(numbers[0], numbers[-1]):
        if n not in numbers:
            yield Problem(
                place=f"acts[{n}].id",
                message=f"{get(acts[n], 'id')!r} stands between acts of the errand {name!r}, "
                "which is done in a row",
                remedy="put it before or after all of them, or make it part of the errand",
            )


def _alike(name: str, numbers: Sequence[int], acts: Sequence[Any]) -> Iterator[Problem]:
    first = acts[numbers[0]]
    for n in numbers[1:]:
        for key in ("who", "spare", "may_drop"):
            if get(acts[n], key) != get(first, key):
                yield Problem(
                    place=f"acts[{n}].{key}",
                    message=f"acts of the errand {name!r} differ in {key}: it is one person's, and "
                    "done or left out as a whole",
                    remedy=f"give all of them the same {key}",
                )
