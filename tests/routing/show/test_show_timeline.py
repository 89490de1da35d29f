"""The timeline chart: what is drawn where, names without collisions, hostile names, grey."""

import math
from itertools import combinations
from pathlib import Path

import pytest
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from routing.caution import CAUTION
from routing.outings.plan import plan_outing
from routing.outings.plan_file.reader import read_outing
from routing.outings.told.results import OutingAnswer
from routing.outings.told.times_said import duration
from routing.show.charts.timeline import compose_timeline
from routing.show.charts.timeline_home import _joined
from routing.show.charts.timeline_inputs import (
    Timeline,
    TimelineBar,
    TimelineCurve,
    TimelineMark,
    timeline_of,
)
from routing.show.sheets.inputs import DrawingError
from tests.routing.show.show_ground import artists, texts

EXAMPLES = Path(__file__).parents[3] / "examples"


def worked_out(path: Path) -> tuple[Timeline, OutingAnswer]:
    document = read_outing(path)
    answer = plan_outing(document.outing, document.structure, limits=document.limits)
    return timeline_of(document.outing, answer), answer


@pytest.fixture(name="station", scope="module")
def station_timeline() -> tuple[Timeline, OutingAnswer]:
    return worked_out(EXAMPLES / "station" / "outing.toml")


def bar(**what: object) -> TimelineBar:
    return TimelineBar(
        **{"lane": "EV1", "start_s": 0.0, "end_s": 600.0, "kind": "act", "text": "turn", **what}
    )


def one_lane(*bars: TimelineBar, end_s: float = 3600.0, **more: object) -> Timeline:
    what = {"lanes": (("EV1", ""),), "bars": bars, "end_s": end_s, "planned_s": 7200.0}
    return Timeline(**{"title": "A plan", **what, **more})


def assert_no_collisions(timeline: Timeline) -> None:
    sheet = compose_timeline(timeline)
    assert sheet.boxes_pt
    width, height = (72.0 * size for size in sheet.figure.get_size_inches())
    for left, bottom, right, top in sheet.boxes_pt:
        assert 0 <= left < right <= width
        assert 0 <= bottom < top <= height
    for a, b in combinations(sheet.boxes_pt, 2):
        apart = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
        assert min(apart) <= 1e-6, (a, b)
    # What was measured is what is drawn: the text of each name is within its box.
    names = artists(sheet.figure, "timeline.name")
    assert len(names) == len(sheet.boxes_pt)


@pytest.mark.parametrize("plan", ["small/outing.toml", "station/outing.toml"])
def test_names_of_the_examples_do_not_collide_and_all_are_there(plan: str) -> None:
    timeline, _ = worked_out(EXAMPLES / plan)
    assert_no_collisions(timeline)
    sheet = compose_timeline(timeline)
    assert sheet.left_out == ()
    shown = texts(sheet.figure)
    for one in timeline.bars:
        if one.kind in {"act", "hold still", "block"}:
            assert one.text in shown


def test_a_length_without_all_ways_is_drawn_as_a_lower_bound() -> None:
    whole = texts(compose_timeline(one_lane(bar(), end_s=3630.0)).figure)
    assert "1:01 in all, planned length 2:00" in whole
    short = texts(compose_timeline(one_lane(bar(), end_s=3630.0, ways_missing=1)).figure)
    assert "MORE THAN 1:00 in all, planned length 2:00" in short


def test_crowded_names_do_not_collide_and_missing_ones_are_counted() -> None:
    crowd = [
        bar(start_s=60.0 * i, end_s=60.0 * i + 50.0, text=f"a-very-long-name-{i}")
        for i in range(60)
    ]
    timeline = one_lane(*crowd)
    assert_no_collisions(timeline)
    sheet = compose_timeline(timeline)
    assert sheet.left_out
    assert f"No room for {len(sheet.left_out)} names: see the run sheet" in texts(sheet.figure)


def test_bars_stand_where_the_clock_says(station: tuple[Timeline, OutingAnswer]) -> None:
    timeline, answer = station
    sheet = compose_timeline(timeline)
    row = next(one for one in answer.run_sheet if one.kind == "act" and one.act == "unbolt")
    strip = next(one for one in sheet.strips if one.start_s <= row.start_s < one.end_s)
    left, right = strip.at_pt(row.start_s), strip.at_pt(row.end_s)
    widths = {
        (round(one.get_x(), 3), round(one.get_width(), 3))
        for one in artists(sheet.figure, "timeline.act")
    }
    assert (round(left, 3), round(right - left, 3)) in widths
    # Every second of every strip is on the sheet once, and the strips cover the whole outing.
    assert sheet.strips[0].start_s == 0.0
    assert all(a.end_s == b.start_s for a, b in zip(sheet.strips, sheet.strips[1:], strict=False))
    assert sheet.strips[-1].end_s >= answer.totals.total_s


def test_the_critical_line_is_as_long_as_what_is_critical() -> None:
    sheet = compose_timeline(
        one_lane(bar(critical=True), bar(start_s=600.0, end_s=900.0, text="rest"))
    )
    line, _key = artists(sheet.figure, "timeline.critical")[::-1]
    assert line.get_width() == pytest.approx(600.0 * sheet.strips[0].points_per_s)


def test_who_holds_still_is_hatched_and_the_others_are_not(
    station: tuple[Timeline, OutingAnswer],
) -> None:
    timeline, _ = station
    kinds = {one.lane: one.kind for one in timeline.bars if one.text == "pump-test"}
    assert kinds == {"ground": "act", "EV1": "hold still"}
    figure = compose_timeline(timeline).figure
    assert all(one.get_hatch() for one in artists(figure, "timeline.hold-still"))
    assert not any(one.get_hatch() for one in artists(figure, "timeline.act"))


def test_kinds_differ_without_colour() -> None:
    kinds = ("block", "act", "hold still", "way", "wait")
    figure = compose_timeline(one_lane(*(bar(kind=kind) for kind in kinds))).figure
    looks = set()
    for kind in kinds:
        patch = artists(figure, f"timeline.{kind.replace(' ', '-')}")[0]
        face = patch.get_facecolor()
        grey = sum(a * b for a, b in zip((0.299, 0.587, 0.114), to_rgb(face[:3]), strict=True))
        looks.add((
            round(patch.get_height(), 1),
            round(10 * grey) if face[3] else None,
            patch.get_hatch(),
            patch.get_linestyle() if kind == "wait" else "",
        ))  # fmt: skip
    assert len(looks) == len(kinds)


def test_head_says_what_it_is_of_and_carries_the_caution(
    station: tuple[Timeline, OutingAnswer],
) -> None:
    timeline, answer = station
    shown = " ".join(texts(compose_timeline(timeline).figure))
    assert CAUTION in shown
    assert answer.outing.name in shown
    assert f"{duration(answer.totals.total_s)} in all, planned length 6:30" in shown
    assert "9 things to WATCH: no way home with the partner in tow" in shown
    assert "NOT CLEAN" not in shown
    assert "Fetching the partner home: NOT LOOKED AT" in shown
    broken, _ = worked_out(EXAMPLES / "station" / "outing_broken.toml")
    assert "NOT CLEAN" in " ".join(texts(compose_timeline(broken).figure))


def test_gates_and_the_planned_length_are_marked() -> None:
    timeline = one_lane(
        bar(end_s=7800.0), end_s=7800.0,
        marks=(TimelineMark(at_s=1200.0, text="both-in"),),
    )  # fmt: skip
    sheet = compose_timeline(timeline)
    (gate,) = artists(sheet.figure, "timeline.gate")
    assert gate.get_xdata()[0] == pytest.approx(sheet.strips[0].at_pt(1200.0))
    (planned,) = artists(sheet.figure, "timeline.planned")
    assert planned.get_xdata()[0] == pytest.approx(sheet.strips[0].at_pt(7200.0))
    assert "both-in" in texts(sheet.figure)


def test_hostile_names_are_drawn_as_text() -> None:
    evil = "$\\frac{1}{0}$ <b>&amp; \u202ex"
    figure: Figure = compose_timeline(
        one_lane(bar(text=evil, end_s=3600.0), title=evil, lanes=(("EV1", evil * 40),))
    ).figure
    figure.canvas.draw()  # mathematics would be parsed here
    assert any("$\\frac{1}{0}$ <b>&amp; \\u202ex" in text for text in texts(figure))


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ({"end_s": float("nan")}, "no finite time"),
        ({"start_s": 700.0}, "before it begins"),
        ({"lane": "EV9"}, "which there is not"),
    ],
)
def test_wrong_bars_are_refused(what: dict[str, object], said: str) -> None:
    with pytest.raises(DrawingError, match=said):
        one_lane(bar(**what))


def test_an_outing_without_end_is_refused() -> None:
    with pytest.raises(DrawingError, match="no timeline"):
        one_lane(end_s=0.0)


def curve(
    lane: str, *points: tuple[float, float | None, float | None], limit_s: float = 1800.0
) -> TimelineCurve:
    return TimelineCurve(lane=lane, points=points, limit_s=limit_s, until_s=3000.0)


def test_times_home_are_drawn_under_the_lanes(
    station: tuple[Timeline, OutingAnswer],
) -> None:
    timeline, answer = station
    sheet = compose_timeline(timeline)
    for home in answer.home:
        (worst,) = artists(sheet.figure, f"timeline.home-worst-alone-{home.person}")
        assert home.worst is not None
        strip = next(one for one in sheet.strips if one.start_s <= home.worst.at_s < one.end_s)
        assert worst.get_xdata()[0] == pytest.approx(strip.at_pt(home.worst.at_s))
        assert len(artists(sheet.figure, f"timeline.home-alone-{home.person}")) == len(sheet.strips)
        assert home.worst.home_s is not None
        said = f"{home.person} {math.ceil(home.worst.home_s / 6) / 10:.1f} min"
        assert said in texts(sheet.figure)
        no_way = artists(sheet.figure, f"timeline.home-no-way-tow-{home.person}")
        assert bool(no_way) == any(point.tow_s is None for point in home.points)
        assert not artists(sheet.figure, f"timeline.home-no-way-alone-{home.person}")
    # The limit stands on top where all times are far below it, and says that it is out of scale.
    assert len(artists(sheet.figure, "timeline.home-limit")) == len(sheet.strips)


def test_the_height_of_a_curve_is_its_time() -> None:
    points = ((0.0, 0.0, 300.0), (600.0, 1200.0, None), (1800.0, None, 600.0))
    timeline = one_lane(bar(), curves=(curve("EV1", *points),))
    sheet = compose_timeline(timeline)
    (alone,) = artists(sheet.figure, "timeline.home-alone-EV1")
    (limit,) = artists(sheet.figure, "timeline.home-limit")
    (tow,) = artists(sheet.figure, "timeline.home-tow-EV1")
    x, y = alone.get_data()
    strip = sheet.strips[0]
    assert list(x) == pytest.approx([strip.at_pt(s) for s in (0, 600, 600, 1800, 1800, 3000)])
    bottom = y[0]
    # 20 of 30 min: in scale with the limit.
    assert (y[2] - bottom) / (limit.get_ydata()[0] - bottom) == pytest.approx(1200 / 1800)
    assert all(value != value for value in y[4:])  # noqa: PLR0124 (not a number: no way)
    assert (tow.get_ydata()[0] - bottom) / (y[2] - bottom) == pytest.approx(300 / 1200)
    for which, start_s, end_s in (("alone", 1800, 3000), ("tow", 600, 1800)):
        (gap,) = artists(sheet.figure, f"timeline.home-no-way-{which}-EV1")
        assert gap.get_x() == pytest.approx(strip.at_pt(start_s))
        assert gap.get_width() == pytest.approx((end_s - start_s) * strip.points_per_s)


def test_a_time_over_the_limit_is_over_its_line() -> None:
    timeline = one_lane(bar(), curves=(curve("EV1", (0.0, 2400.0, 100.0)),))
    sheet = compose_timeline(timeline)
    (alone,) = artists(sheet.figure, "timeline.home-alone-EV1")
    (limit,) = artists(sheet.figure, "timeline.home-limit")
    assert alone.get_ydata()[0] > limit.get_ydata()[0]


def test_without_times_home_nothing_stands_under_the_lanes() -> None:
    sheet = compose_timeline(one_lane(bar()))
    assert not artists(sheet.figure, "timeline.home-limit")
    assert all(strip.home_pt == 0.0 for strip in sheet.strips)


def test_curves_of_people_without_a_lane_are_refused() -> None:
    with pytest.raises(DrawingError, match="EV9"):
        one_lane(bar(), curves=(curve("EV9", (0.0, 1.0, 1.0)),))


def test_spans_without_a_way_home_are_one_bar_as_long_as_they_follow_one_another() -> None:
    spans = [(0.0, 1.0), (1.0, 2.5), (3.0, 4.0), (4.0, 4.5)]
    assert _joined(spans) == [(0.0, 2.5), (3.0, 4.5)]
    assert _joined([]) == []
