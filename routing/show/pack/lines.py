"""Whether two people's lines cross over the outing, and in which order that holds."""

from typing import Final

from routing.outings.lines.records import LaidFor, LinesMeet
from routing.outings.told.results import OutingAnswer
from routing.show.pack.markup import Child, Html, joined, said, tag
from routing.show.pack.material import PackMaterial
from routing.show.pack.parts import Section, Table, length, moment, table
from structures.counting import counted

__all__ = ["lines_in_short", "lines_section"]

_VERDICTS: Final = {
    "tangles": ("TANGLES", "the line under is taken up first"),
    "may tangle": ("MAY TANGLE", "by the clock it undoes itself, by the order of acts it need not"),
    "may cross": ("may cross", "apart by the clock alone, not by the order of acts"),
    "undoes itself": ("undoes itself", "whoever lies over takes it up first, for certain"),
}
"""How a crossing ends and what that means, the worst first."""
_BLOCKS: Final = frozenset({"tangles", "may tangle"})


def lines_in_short(answer: OutingAnswer) -> Html:
    """Return how the crossings of the outing end, with a link to all of them."""
    return tag("a", _verdict(answer), href="#lines")


def _verdict(answer: OutingAnswer) -> str:
    """Return how the crossings of the outing end, the worst first."""
    if sum(one.protocol == "reel" for one in answer.people) < 2:
        return "no two people lay lines"
    known = _known(answer)
    if not answer.lines:
        return f"{known}they never cross" if known else "never cross"
    counts = {end: sum(one.ends == end for one in answer.lines) for end in _VERDICTS}
    said_of = {
        "tangles": "TANGLES in", "may tangle": "MAY TANGLE in", "may cross": "may cross in",
        "undoes itself": "cross and undo themselves in",
    }  # fmt: skip
    told = ", ".join(
        f"{said_of[end]} {counted(count, 'place')}" for end, count in counts.items() if count
    )
    return f"{known}{told}"


def _known(answer: OutingAnswer) -> str:
    """Return a warning where ways are missing: what lines do then is not known to the end."""
    if not answer.totals.ways_missing:
        return ""
    until_s = min((one.known_until_s for one in answer.home), default=0.0)
    return f"KNOWN ONLY UNTIL {moment(until_s)}; until then "


def lines_section(material: PackMaterial) -> Section:
    """Return every crossing of two people's lines: how it ends, and the order it hangs on."""
    answer = material.planned.answer
    apart = length(material.limits.line_apart_m)
    return Section(
        anchor="lines",
        detail=True,
        title="Lines of two people",
        body=joined(
            [
                tag(
                    "p",
                    f"Lines that come nearer than {apart} m, other than side by side from the "
                    "start on, count as crossing; the one laid later lies over. The order in each "
                    "row must be kept on the day.",
                ),
                tag("p", "Verdict: ", tag("strong", _verdict(answer)), "."),
                _meanings(answer),
                _crossings(answer),
            ],
            "\n",
        ),
    )


def _meanings(answer: OutingAnswer) -> Html:
    """Return what the words for the ends of crossings mean, of those there are."""
    ends = {one.ends for one in answer.lines}
    return (
        tag(
            "ul",
            *(
                tag("li", tag("strong", word), f": {meaning}")
                for end, (word, meaning) in _VERDICTS.items()
                if end in ends
            ),
        )
        if ends
        else joined([])
    )


def _crossings(answer: OutingAnswer) -> Html:
    lines = sorted(answer.lines, key=lambda one: (list(_VERDICTS).index(one.ends), one.start_s))
    return table(
        Table(
            caption="Where lines cross, the worst first",
            heads=("from", "to", "under", "over", "nearest [m]", "how it ends", "order"),
            numbers=frozenset({4}),
            rows=[_crossing(one) for one in lines],
            row_classes=["bad" if one.ends in _BLOCKS else "" for one in lines],
            wordy=True,
            empty="No lines cross.",
        )
    )


def _crossing(one: LinesMeet) -> tuple[Child, ...]:
    start_s, end_s = sorted((one.start_s, one.end_s))
    first, second = one.lines
    over = second if one.over != first.person else first
    under = first if over is second else second
    unsure = " (not known)" if one.over is None else None
    return (
        moment(start_s),
        moment(end_s),
        joined([said(under.person), " from ", said(under.at), unsure]),
        joined([said(over.person), " from ", said(over.at), unsure]),
        length(one.distance_m),
        _VERDICTS[one.ends][0],
        _order(under, over),
    )


def _order(*lines: LaidFor) -> Html:
    """Return when both are laid and taken up, in the order of the clock."""
    events: list[tuple[float, Html]] = []
    for line in lines:
        laid = "from the start on" if line.laid_for is None else said(line.laid_for)
        events.append((line.laid_s, joined([said(line.person), " lays: ", laid])))
        if line.taken_up_s is not None:
            taken = said(line.taken_up_for) if line.taken_up_for else "the end"
            events.append((line.taken_up_s, joined([said(line.person), " takes up: ", taken])))
    events.sort(key=lambda event: event[0])
    texts = [joined([text, f" at {moment(at_s)}"]) for at_s, text in events]
    stays = [
        joined([said(line.person), " leaves it outside"])
        for line in lines
        if line.taken_up_s is None
    ]
    return joined([*texts, *stays], "; ")
