"""The answer about closures as text for people."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import ceil
from pathlib import Path
from typing import Final

from routing.cli.closures_answer import AdditionsAnswer, ClosuresAnswer, home_scope
from routing.cli.output import print_lines, written
from routing.cli.tables import Column, print_table
from routing.paths.answers.results import SiteRef
from routing.studies.closures.additions import Value
from routing.studies.closures.ranking import Critical, SinglePoint
from structures.counting import counted

__all__ = ["print_closures"]

_COLUMNS: Final = (
    Column("closed", keep=20),
    Column("kind"),
    Column("cuts off", number=True),
    Column("gone", number=True),
    Column("late", number=True),
    Column("caught", number=True),
    Column("slower", number=True),
    Column("extra s", number=True),
    Column("most s", number=True),
    Column("at"),
    Column("home s", number=True),
    Column("goals without a safe way, or LATE home", keep=24),
)
_ADDITION_COLUMNS: Final = (
    Column("between", keep=16),
    Column("way m", number=True),
    Column("goals regained", number=True),
    Column("closures survived", number=True),
    Column("s saved", number=True),
)
_KEY: Final = (
    "Key, in goals: cuts off = left without a safe way; gone = those that are at what is closed; "
    "late = too late home, or without a way home; caught = the same for who is there when it "
    "closes (? = not looked at for some); slower = still with a safe way out, but a longer one. "
    "Extra s = how much longer, all together; most s = where it is most, at that goal; home s = "
    "longest time home on a way that changes."
)
_LISTED: Final = 8


def print_closures(
    answer: ClosuresAnswer, *, top: int, rows: Path | None, drawing: Path | None
) -> None:
    """Print what hangs on what, worst first."""
    print_lines(*_verdict(answer), *_late(answer), home_scope(answer), "")
    shown = answer.critical[:top]
    if shown:
        print_table(_COLUMNS, [_cells(one) for one in shown])
        rest = len(answer.critical) - len(shown)
        if rest:
            print_lines(f"and {rest} more that change less (--top, or --json for all)")
        print_lines(_KEY)
        print_lines(*_ways_left(shown, answer.protocol))
    print_lines(*_hanging(answer))
    print_lines(
        "",
        f"Of the reach graph itself, tethers left out: {counted(len(answer.cut_grips), 'grip')} "
        f"without which it falls apart, {counted(len(answer.bridges), 'move')} without a second "
        "way (--json lists them).",
    )
    if answer.additions is not None:
        _print_additions(answer.additions)
    if rows is not None:
        print_lines("", written("a row for every closure and trip that changes", rows))
    if drawing is not None:
        print_lines("", written("the drawing", drawing))


def _print_additions(additions: AdditionsAnswer) -> None:
    print_lines("", "Handrails in near misses, by what each would repair alone:")
    if not additions.candidates:
        print_lines("  there are no near misses")
        return
    ranked = sorted(additions.candidates, key=lambda one: one.alone.rank, reverse=True)
    print_table(
        _ADDITION_COLUMNS,
        [
            (
                f"{one.addition.between[0]} - {one.addition.between[1]}",
                f"{one.addition.way_m:.3f}",
                *_worth(one.alone),
            )
            for one in ranked
        ],
    )
    if not additions.chosen:
        print_lines("No single one repairs anything or saves time.")
        return
    print_lines("", "Chosen one after the other (good, but not proven the best set):")
    for number, one in enumerate(additions.chosen, start=1):
        regained, kept, saved_s = _worth(one.together)
        ends = " to ".join(
            "(" + ", ".join(f"{value:.3f}" for value in point) + ")"
            for point in one.addition.points_m
        )
        print_lines(
            f"  {number}. between {one.addition.between[0]} and {one.addition.between[1]}, "
            f"{ends} m: together {regained} goals regained, {kept} closures survived, "
            f"{saved_s} s saved"
        )


def _worth(value: Value) -> tuple[str, str, str]:
    return (str(value.regained), str(value.kept), f"{value.saved_s:.0f}")


def _verdict(answer: ClosuresAnswer) -> list[str]:
    lines = []
    unreached = [one for one in answer.intact if not one.safe]
    if unreached:
        lines.append(
            f"NO SAFE WAY even with nothing closed: {_names([one.goal for one in unreached])}."
        )
    cut = [one for one in answer.critical if one.cuts_off]
    only_gone = [one for one in answer.critical if one.itself and not one.cuts_off]
    asked = f"{counted(answer.closures, 'closure')} against {counted(answer.trips, 'trip')}"
    changes = "answer changes" if answer.changed == 1 else "answers change"
    change = f"{answer.changed} {changes}."
    gone = (
        f"{counted(len(only_gone), 'closure')} of what a goal is at, by which the goal is GONE"
        if only_gone
        else ""
    )
    if cut:
        apart = f"; not among them {gone}" if gone else ""
        pairs = " or pairs lost together" if any(len(one.closure) > 1 for one in cut) else ""
        lines.append(
            f"SINGLE POINTS OF FAILURE{pairs}: {len(cut)} of {asked} leave a goal "
            f"without a safe way{apart}; {change}"
        )
    else:
        but = f", but for {gone}" if gone else ""
        lines.append(
            f"Every goal that has a safe way keeps one under each of {asked}{but}; {change}"
        )
    return lines


def _late(answer: ClosuresAnswer) -> list[str]:
    """Say what is too late home: with nothing closed, under closures, and for who is out then."""
    limit = f"the emergency limit of {answer.home_limit_s:.0f} s"
    lines = []
    for verdict, told in (
        ("not known", "NO WAY HOME known even with nothing closed"),
        ("too late", f"TOO LATE HOME even with nothing closed, against {limit}"),
    ):
        at_once = [one.goal for one in answer.intact if one.home == verdict]
        if at_once:
            lines.append(f"{told}: {_names(at_once)}.")
    late = [one for one in answer.critical if one.late]
    if late:
        goals = sorted({goal.id for one in late for goal in one.late})
        lines.append(
            f"TOO LATE HOME: {counted(len(late), 'closure')} put {counted(len(goals), 'goal')} "
            f"({_some(goals)}) over {limit}, or leave no way home: "
            f"{_some([' + '.join(one.closure) for one in late])}."
        )
    caught = [one for one in answer.critical if one.caught]
    if caught:
        only = [one for one in caught if one.only_caught]
        listed = _some([" + ".join(one.closure) for one in only or caught])
        safe_later = f". {len(only)} of these keep a safe way there for who goes out later"
        which = safe_later if only else ""
        lines.append(
            f"Who is at a goal when it closes is NOT home in time after {len(caught)} of them"
            f"{which}: {listed}."
        )
    return lines


def _cells(one: Critical) -> tuple[str, ...]:
    return (
        " + ".join(one.closure),
        one.kind,
        str(one.cuts_off),
        str(len(one.itself)),
        str(len(one.late)),
        f"{len(one.caught)}{'?' if one.caught_not_checked else ''}",
        str(one.slower),
        f"{one.extra_s:.0f}",
        f"{one.most_extra_s:.0f}" if one.slower else "",
        "" if one.most_extra_goal is None else one.most_extra_goal.id,
        "" if one.most_home_s is None else f"{ceil(one.most_home_s)}",
        _without(one),
    )


def _without(one: Critical) -> str:
    """Return the goals without a safe way, those first that are gone, and those late home last."""
    gone = [f"GONE {_names(one.itself)}"] if one.itself else []
    cut_off = [_names((*one.lost, *one.unsafe))] if one.cuts_off else []
    late = [f"LATE {_names(one.late)}"] if one.late else []
    return "; ".join([*gone, *cut_off, *late])


def _ways_left(shown: Sequence[Critical], protocol: str) -> list[str]:
    """Return how people go then, to the goal that loses most time by each closure."""
    same: dict[str, list[str]] = {}
    for one in shown:
        if one.most_extra_goal is not None:
            told = f"to {one.most_extra_goal.id} {_way_left(one, protocol)}"
            same.setdefault(told, []).append(" + ".join(one.closure))
    if not same:
        return []
    said = "stays" if protocol == "reel" else "elements held"
    return ["", f"The way that is left where most time is lost ({said}):"] + [
        f"  {_some(closed)}: {told}" for told, closed in same.items()
    ]


def _way_left(one: Critical, protocol: str) -> str:
    before, after = one.most_extra_before, one.most_extra_chain
    if protocol == "reel":
        was = "as before" if after == before else f"before: {' > '.join(before)}"
        return f"by {' > '.join(after)} ({was})"
    new = [held for held in after if held not in before]
    gone = [held for held in before if held not in after]
    in_place = f" in place of {_some(gone)}" if gone else ""
    return f"over {_some(new) if new else 'what was held before'}{in_place}"


def _hanging(answer: ClosuresAnswer) -> list[str]:
    if not answer.single_points:
        return []
    kinds = {one.closure[0]: one.kind for one in answer.critical if len(one.closure) == 1}
    lines = [
        "",
        "What each goal hangs on (lost singly, no safe way is left, or none in time home):",
    ]
    for one in answer.single_points:
        parts = [*_gone_with(one, kinds)]
        if one.elements:
            parts.append(_some(one.elements))
        if one.conditions:
            parts.append(f"free of {_some(one.conditions)}")
        if one.late_with:
            parts.append(f"LATE home with the loss of {_some(one.late_with)}")
        lines.append(f"  {one.goal.id}: {'; '.join(parts)}")
    return lines


def _gone_with(one: SinglePoint, kinds: Mapping[str, str]) -> Iterator[str]:
    """Yield what a goal is at, and what closes that."""
    for held in one.gone_with:
        if held == one.goal.id:
            yield "itself"
        elif kinds[held] == "condition":
            yield f"free of {held}, which closes what it is at"
        else:
            yield f"{kinds[held]} {held}, which it is at"


def _names(sites: Iterable[SiteRef]) -> str:
    return _some([site.id for site in sites])


def _some(ids: Sequence[str]) -> str:
    rest = len(ids) - _LISTED
    return ", ".join(ids[:_LISTED]) + (f" and {rest} more" if rest > 0 else "")
