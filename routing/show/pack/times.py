"""How much time there is: by when to turn home, how the times spread, and what drives that."""

from typing import Final

from routing.outings.clock.spread_records import OutingSpread
from routing.outings.safety.safety_records import TurnHome
from routing.outings.told.results import OutingAnswer
from routing.outings.told.times_said import clock, duration, left_of
from routing.show.pack.markup import Child, Html, joined, said, tag
from routing.show.pack.material import SPREAD_SAMPLES, SPREAD_SEED, PackMaterial
from routing.show.pack.parts import Section, Table, moment, table
from structures.counting import counted

__all__ = ["spread_in_short", "times_section", "turn_home_in_short"]

_LEAST_SHARE: Final = 0.01
"""Acts that drive less of the spread than this are counted, not listed."""
_THOUSANDTH: Final = 0.001


def times_section(material: PackMaterial) -> Section:
    """Return the latest moments to turn home, and how the times of the outing spread."""
    answer = material.planned.answer
    return Section(
        anchor="times",
        detail=True,
        title="Turning home, and how the times spread",
        body=joined(
            [
                tag("h3", "Latest moment to turn home"),
                tag(
                    "p",
                    "Whoever turns home by then, alone, is through clean-up, ingress and repress "
                    f"within the {moment(answer.totals.consumables_s)} that the suits hold. The "
                    "way to an act counts as part of it; the run sheet says it for each act.",
                ),
                _turns(answer),
                tag("h3", "How the times spread"),
                *_spread(material),
            ],
            "\n",
        ),
    )


def turn_home_in_short(answer: OutingAnswer) -> Html:
    """Return for each person the earliest of the latest moments to turn home."""
    parts = []
    for person in answer.people:
        turns = [one for one in answer.turn_home if one.person == person.person]
        known = [one.turn_by_s for one in turns if one.turn_by_s is not None]
        when = clock(max(min(known), 0.0)) if turns and len(known) == len(turns) else "NOT KNOWN"
        parts.append(joined([said(person.person), f" {when}"]))
    return joined(parts, ", ")


def spread_in_short(material: PackMaterial) -> Html:
    """Return P50 and P90 of the length, P90 against the planned length."""
    sums, spread = material.planned.answer.totals, material.spread
    if spread is None:
        return joined(["not known, because a way was not found"])
    if not spread.drivers:
        return joined(["NOT KNOWN: no act of the plan says low and high minutes"])
    return joined([
        f"P50 {duration(spread.p50_s)}, P90 {duration(spread.p90_s)}: P90 ",
        _against(sums.planned_s, spread.p90_s),
    ])  # fmt: skip


def _against(limit_s: float, taken_s: float) -> Child:
    """Return what a limit leaves over, strong where it is exceeded."""
    text = left_of(limit_s, taken_s)
    return tag("strong", text) if text.startswith("OVER") else text


def _turns(answer: OutingAnswer) -> Html:
    """Return for each person the earliest moment and where least time is left until it."""
    rows: list[tuple[Child, ...]] = []
    bad = []
    for curve in answer.home:
        turns = [one for one in answer.turn_home if one.person == curve.person]
        if not curve.complete:
            bad.append("bad")
            lost = tag("strong", "NOT KNOWN")
            why = "a way was not found"
            rows.append((said(curve.person), why, moment(curve.known_until_s), "", lost, "", None))
        for one, until_s in _deciding(turns, curve.known_until_s):
            late = one.turn_by_s is None or one.turn_by_s < until_s
            bad.append("bad" if late else "")
            rows.append(_turn(one, until_s))
    return table(
        Table(
            caption="Earliest such moment of each person, and the act with the least time until it",
            heads=("person", "act", "from", "until", "turn home by", "home takes", "in hand then"),
            rows=rows,
            row_classes=bad,
            empty="The time home was not worked out.",
        )
    )


def _deciding(turns: list[TurnHome], known_until_s: float) -> list[tuple[TurnHome, float]]:
    """Return the turns that say most, in order of time: each with when its act ends [s].

    Without a moment to turn home by is worse than any.
    """
    if not turns:
        return []
    ends_s = [*(one.from_s for one in turns[1:]), known_until_s]
    both = list(zip(turns, ends_s, strict=True))

    def turn_by_s(one: TurnHome) -> float:
        return float("-inf") if one.turn_by_s is None else one.turn_by_s

    earliest = min(both, key=lambda each: turn_by_s(each[0]))
    tightest = min(both, key=lambda each: turn_by_s(each[0]) - each[1])
    return [each for each in both if each in (earliest, tightest)]


def _turn(one: TurnHome, until_s: float) -> tuple[Child, ...]:
    by_s, home_s = one.turn_by_s, one.home_s
    if by_s is None:
        last: tuple[Child, ...] = (tag("strong", "NOT KNOWN"), "NO WAY home is known", None)
    else:
        left = moment(by_s - until_s) if by_s >= until_s else tag("strong", "TOO LATE")
        last = (clock(max(by_s, 0.0)), duration(home_s or 0.0), left)
    act = said(one.act) if one.act else "before the first"
    return (said(one.person), act, moment(one.from_s), moment(until_s), *last)


def _spread(material: PackMaterial) -> list[Child]:
    spread, answer = material.spread, material.planned.answer
    if spread is None:
        return [
            tag("p", tag("strong", "NOT KNOWN: "), "a way was not found, so no total is.",
                class_="bad")
        ]  # fmt: skip
    if not spread.drivers:
        return [
            tag(
                "p",
                tag("strong", "NOT KNOWN: "),
                "no act of the plan says low and high minutes. Times will spread all the same.",
                class_="bad",
            )
        ]
    timed = sum(one.kind == "act" for one in answer.run_sheet)
    return [
        tag(
            "p",
            f"{SPREAD_SAMPLES} samples ({spread.distribution}, seed {SPREAD_SEED}) of the "
            f"{counted(len(spread.drivers), 'act')} with low, usual and high minutes; the other "
            f"{timed - len(spread.drivers)}, and all ways, take what the plan and the router "
            "say, so the true spread is wider. The answer of ",
            tag("code", f"gripway outing PLAN --spread {SPREAD_SAMPLES} --seed {SPREAD_SEED}"),
            ".",
        ),
        _lengths(answer, spread),
        _drivers(spread),
    ]


def _lengths(answer: OutingAnswer, spread: OutingSpread) -> Html:
    sums = answer.totals
    rows: list[tuple[Child, ...]] = []
    bad = []
    for word, limit_s, over in (
        ("whole, against the planned length", sums.planned_s, spread.over_planned),
        ("whole, against what the suits hold", sums.consumables_s, spread.over_consumables),
    ):
        bad.append("bad" if left_of(limit_s, spread.p90_s).startswith("OVER") else "")
        rows.append((
            word, duration(sums.total_s), duration(spread.p50_s), duration(spread.p90_s),
            moment(limit_s), _against(limit_s, spread.p90_s), _percent(over),
        ))  # fmt: skip
    planned_s = {one.gate: one.at_s for one in answer.milestones}
    for gate in spread.milestones:
        bad.append("")
        rows.append((
            joined(["gate ", said(gate.gate)]), moment(planned_s[gate.gate]),
            duration(gate.p50_s), duration(gate.p90_s), None, None, None,
        ))  # fmt: skip
    return table(
        Table(
            caption="P50 and P90: half, and nine of ten, of the samples are done by then",
            heads=("what", "as planned", "P50", "P90", "limit", "P90 against it", "longer than it"),
            rows=rows,
            row_classes=bad,
        )
    )


def _drivers(spread: OutingSpread) -> Html:
    listed = [one for one in spread.drivers if one.share_of_variance >= _LEAST_SHARE]
    fewer = len(spread.drivers) - len(listed)
    rest = f"; {counted(fewer, 'act')} with less than {_LEAST_SHARE:.0%} not listed"
    return table(
        Table(
            caption=f"What drives the spread of the whole{rest if fewer else ''}",
            heads=("act", "share of the variance", "critical in"),
            numbers=frozenset({1, 2}),
            rows=[
                (said(one.act), f"{one.share_of_variance:.0%}", _percent(one.critical_share))
                for one in listed
            ],
        )
    )


def _percent(part: float) -> str:
    """Return a part of the samples; none and all only where it is none or all of them."""
    if 0.0 < part < _THOUSANDTH:
        return "under 0.1%"
    return "over 99.9%" if 1.0 - _THOUSANDTH < part < 1.0 else f"{part:.1%}"
