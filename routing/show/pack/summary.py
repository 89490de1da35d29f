"""What a reviewer reads first: the verdict, the worst margins, the clock and the findings."""

import math
from collections.abc import Callable

from routing.outings.told.rescue_text import rescue_lines
from routing.outings.told.results import OutingAnswer
from routing.outings.told.times_said import left_of, total_said
from routing.outings.told.verdict import verdict_line
from routing.paths.answers.results import Route
from routing.show.charts.timeline import draw_timeline
from routing.show.charts.timeline_inputs import timeline_of
from routing.show.pack.drawings import Looks, inline_svg
from routing.show.pack.lines import lines_in_short
from routing.show.pack.markup import Child, Html, joined, said, tag
from routing.show.pack.material import PackMaterial, PackWay, unsafe_sites, ways_of
from routing.show.pack.parts import Section, Table, length, margin, moment, names, no_margin, table
from routing.show.pack.times import spread_in_short, turn_home_in_short
from structures.counting import counted

__all__ = ["findings_section", "summary_section", "timeline_section"]


def summary_section(material: PackMaterial) -> Section:
    """Return the verdict, the totals and the worst margins."""
    answer = material.planned.answer
    sums = answer.totals
    total = total_said(sums.total_s, sums.ways_missing)
    facts: list[tuple[str, Child]] = [
        ("length", f"{total} of {moment(sums.planned_s)} planned{_missing(answer)}"),
        ("suits", f"{moment(sums.consumables_s)} by the plan's limit{_left(answer)}"),
        ("work", f"{counted(sums.acts, 'act')}, {counted(sums.translations, 'way')}"),
        ("how that spreads", tag("a", spread_in_short(material), href="#times")),
        ("turn home by", tag("a", turn_home_in_short(answer), href="#times")),
        ("lines of two people", lines_in_short(answer)),
        ("findings", tag("a", _weights(answer), href="#findings")),
        ("get-aheads planned", names(answer.get_aheads_planned) or "none"),
        ("get-aheads left", names(answer.get_aheads_left) or "none"),
        ("closed", names(answer.closed) or "nothing"),
    ]
    return Section(
        anchor="summary",
        title="Summary",
        body=joined(
            [
                *_verdict(material),
                _not_checked(material),
                tag("dl", *(tag("div", tag("dt", a), tag("dd", b)) for a, b in facts)),
                _people(answer, material.limits.reserve_m),
                _worst(ways_of(material.planned)),
                _home(answer),
                *(tag("p", said(line), ".") for line in rescue_lines(answer)),
            ],
            "\n",
        ),
    )


def _verdict(material: PackMaterial) -> list[Html]:
    """Return what to sign or not: good only if neither the plan nor a worksite is unsafe."""
    answer = material.planned.answer
    unsafe = unsafe_sites(material)
    looks = {"not clean": "verdict bad", "planned and clean": "verdict good"}
    found: list[Html] = []
    if not unsafe or answer.verdict != "planned and clean":
        look = looks.get(answer.verdict, "verdict watch")
        found.append(tag("p", said(verdict_line(answer)), class_=look))
    if unsafe:
        where = tag("a", names(unsafe), href="#sites")
        found.append(tag("p", "NOT SAFE or not known at ", where, ".", class_="verdict bad"))
    if answer.watched:
        watched = (tag("li", said(one.message)) for one in answer.watched)
        head = tag("a", f"To watch ({len(answer.watched)}), the worst first:", href="#findings")
        found.append(tag("div", head, tag("ol", *watched), class_="watch"))
    return found


def _weights(answer: OutingAnswer) -> str:
    """Return how many findings of each weight there are, none left out."""
    return ", ".join(
        f"{sum(one.severity == severity for one in answer.findings)} {word}"
        for severity, word in (("blocks", "block"), ("warns", "warn"), ("notes", "note"))
    )


def _missing(answer: OutingAnswer) -> str:
    sums = answer.totals
    if sums.ways_missing:
        return f"; TOO SHORT: no answer for {counted(sums.ways_missing, 'way')}"
    return f", {left_of(sums.planned_s, sums.total_s)}"


def _left(answer: OutingAnswer) -> str:
    sums = answer.totals
    if sums.ways_missing:
        return ", what is left is not known"
    return f", {left_of(sums.consumables_s, sums.total_s)}"


def _not_checked(material: PackMaterial) -> Html | None:
    missing = [
        word
        for word, found in (
            ("the site table", material.sites),
            ("closures of single handrails", material.closures),
        )
        if found is None
    ]
    if not missing:
        return None
    return tag("p", tag("strong", "NOT CHECKED: "), " and ".join(missing), ".", class_="bad")


def _people(answer: OutingAnswer, reserve_m: float) -> Html:
    return table(
        Table(
            caption="People",
            heads=(
                "person", "tethers", "reels [m]", "busy", "moving", "waiting",
                "way [m]", "transfers", "least line spare [m]", "at act",
            ),
            numbers=frozenset({3, 4, 5, 6, 7, 8}),
            rows=[
                (
                    joined([said(one.person), " ", said(one.name) if one.name else None]),
                    one.protocol,
                    ", ".join(f"{reel:.2f}" for reel in one.reels_m),
                    moment(one.busy_s), moment(one.moving_s), moment(one.waiting_s),
                    f"{one.distance_m:.1f}", str(one.transfers),
                    _above(one.least_left_m, reserve_m),
                    said(one.least_left_act) if one.least_left_act else None,
                )
                for one in answer.people
            ],
        )
    )  # fmt: skip


def _above(left_m: float | None, reserve_m: float) -> Html:
    """Return the line left above the reserve."""
    return margin(None if left_m is None else left_m - reserve_m)


def _home(answer: OutingAnswer) -> Html:
    """Return for each person where home is farthest, alone and with the partner in tow."""
    rows: list[tuple[Child, ...]] = []
    for curve in answer.home:
        limit = f"{curve.limit_s:.0f}"
        if not curve.complete:
            since = f"from {moment(curve.known_until_s)} on"
            lost = "a way was not found"
            rows.append((said(curve.person), "in any way", "NOT KNOWN", limit, since, lost))
        for word, point, tow in (("alone", curve.worst, False), ("in tow", curve.worst_tow, True)):
            if point is None:
                rows.append((said(curve.person), word, "not known", limit, None, None))
                continue
            home_s = point.tow_s if tow else point.home_s
            time = "NO WAY" if home_s is None else f"{math.ceil(home_s)}"
            rows.append((
                said(curve.person), word, time, limit, moment(point.at_s), said(point.grip),
            ))  # fmt: skip
    return table(
        Table(
            caption="Longest time home; in tow: from beside the partner on, tethers and load left "
            "outside",
            heads=("person", "how", "time [s]", "limit [s]", "PET", "at"),
            numbers=frozenset({2, 3}),
            rows=rows,
            row_classes=[
                "bad" if row[2] in {"NO WAY", "NOT KNOWN", "not known"} else "" for row in rows
            ],
            empty="The time home was not worked out.",
        )
    )


def _worst(ways: tuple[PackWay, ...]) -> Html:
    """Return the smallest margin of each kind over all ways, with where."""
    found = [
        row
        for word, of in (
            ("line spare (left above the reserve)", _line),
            ("reach left at a gap", _gap),
            ("clearance beyond the corridor", _clearance),
        )
        if (row := _least(word, of, ways)) is not None
    ]
    return table(
        Table(
            caption="Worst margins of all ways",
            heads=("margin", "left [m]", "of", "way", "where"),
            rows=[row for _, row in found],
            row_classes=["bad" if no_margin(left_m) else "" for left_m, _ in found],
            empty="No way has a margin to show.",
        )
    )


_Margin = Callable[[Route], "tuple[float, str, str] | None"]
"""What is left [m], of what in words, and the grip."""


def _least(
    word: str, of: _Margin, ways: tuple[PackWay, ...]
) -> tuple[float, tuple[Child, ...]] | None:
    known = [
        (found, way)
        for way in ways
        if way.trip.route is not None and (found := of(way.trip.route)) is not None
    ]
    if not known:
        return None
    (left_m, limit, grip), way = min(known, key=lambda one: one[0][0])
    link = tag(
        "a", said(way.person), f" {moment(way.start_s)} ", said(way.trip.act), href=f"#{way.key}"
    )
    return left_m, (word, margin(left_m), limit, link, said(grip))


def _line(route: Route) -> tuple[float, str, str] | None:
    line = route.margins.line
    if line is None:
        return None
    limit = f"{length(line.least_left_m)} on the reel, {line.reserve_m:.3f} reserve"
    return (line.least_left_m - line.reserve_m, limit, line.worst_grip)


def _gap(route: Route) -> tuple[float, str, str] | None:
    gap = route.margins.gap
    return None if gap is None else (gap.left_m, f"{gap.reach_m:.3f} reach", gap.from_grip)


def _clearance(route: Route) -> tuple[float, str, str] | None:
    near = route.margins.clearance
    if near is None:
        return None
    return (near.clearance_m, f"beyond {near.corridor_radius_m:.3f} corridor", near.to_grip)


def findings_section(material: PackMaterial) -> Section:
    """Return all findings of the plan, worst first."""
    words = {"blocks": "BLOCKS", "warns": "warns", "notes": "note"}
    findings = material.planned.answer.findings
    return Section(
        anchor="findings",
        title="Findings",
        body=table(
            Table(
                caption="Findings of the plan, worst first",
                heads=("weight", "when", "act", "person", "what", "what to do", "code"),
                rows=[
                    (
                        words[one.severity],
                        moment(one.at_s),
                        said(one.act) if one.act else None,
                        said(one.person) if one.person else None,
                        said(one.message),
                        said(one.remedy),
                        one.code,
                    )
                    for one in findings
                ],
                row_classes=["bad" if one.severity == "blocks" else "" for one in findings],
                empty="No findings.",
            )
        ),
    )


def timeline_section(material: PackMaterial, looks: Looks) -> Section:
    """Return the timeline chart."""
    planned = material.planned
    figure = draw_timeline(timeline_of(planned.outing, planned.answer))
    label = "Timeline of the outing. The run sheet below says the same in words."
    drawn = inline_svg(figure, "t", looks, label, Html(""))
    return Section(
        anchor="timeline",
        title="Timeline",
        body=joined([
            tag(
                "div", drawn, class_="map", tabindex="0", role="region",
                aria_label="Timeline, may be scrolled",
            ),
            tag("h3", "Gates"),
            _gates(planned.answer),
        ], "\n"),
    )  # fmt: skip


def _gates(answer: OutingAnswer) -> Html:
    rows = [
        (said(one.gate), said(one.name), moment(one.at_s), moment(one.slack_s), names(one.needs))
        for one in answer.milestones
    ]
    return table(
        Table(
            caption="Gates: when they open, and what for",
            heads=("gate", "name", "opens", "slack", "waits for, the last one first"),
            rows=rows,
            empty="There are no gates in this plan.",
        )
    )
