"""The closure map: bands, names of the worst, what no view shows, labels apart."""

from itertools import combinations

import pytest
from matplotlib.figure import Figure

from routing.paths.answers.results import SiteRef
from routing.show.maps.closure_costs import (
    ClosureCost,
    band_of,
    closure_costs,
    compose_closure_costs,
)
from routing.show.maps.maps import MapSheet
from routing.show.sheets.inputs import DrawingError, MapFacts
from routing.studies.closures.ranking import Critical
from tests.routing.show.show_ground import small_depot, texts

SITE = SiteRef(worksite="P1")


def drawn(figure: Figure) -> dict[str, int]:
    """How many lines or marks there are in each band, by view, band and kind."""
    found: dict[str, int] = {}
    for axes in figure.axes:
        for artist in (*axes.collections, *axes.lines):
            gid = str(artist.get_gid())
            if ".loss." in gid:
                paths = getattr(artist, "get_segments", None)
                count = len(paths()) if paths else len(artist.get_xdata())
                found[gid] = found.get(gid, 0) + count
    return found


def sheet(*costs: ClosureCost, views: tuple[str, ...] = ("plan",), every: bool = True) -> MapSheet:
    return compose_closure_costs(small_depot(), costs, views=views, facts=MapFacts(), every=every)


def test_costs_of_single_closures_only_goals_on_the_element_apart() -> None:
    critical = (
        Critical(closure=("H2", "H3"), kind="handrail + handrail", lost=(SITE,)),
        Critical(closure=("S1",), kind="socket", itself=(SITE,), late=(SITE,)),
        Critical(
            closure=("H1",),
            kind="handrail",
            lost=(SITE,),
            unsafe=(SITE,),
            caught=(SITE,),
            most_extra_s=5.0,
        ),
        Critical(closure=("H4",), kind="handrail", slower=1, caught=(SITE,)),
    )
    assert closure_costs(critical) == (
        ClosureCost(element="H1", cuts_off=2, most_extra_s=5.0),
        ClosureCost(element="H4", late=1),
        ClosureCost(element="S1", itself=1, late=1),
    )


@pytest.mark.parametrize(
    ("cost", "band"),
    [
        ({"most_extra_s": 0.0}, "nothing"),
        ({"most_extra_s": 0.1}, "little"),
        ({"most_extra_s": 59.9}, "little"),
        ({"most_extra_s": 60.0}, "later"),
        ({"most_extra_s": 299.9}, "later"),
        ({"most_extra_s": 300.0}, "far"),
        ({"itself": 1, "most_extra_s": 300.0}, "itself"),
        ({"late": 1, "itself": 1, "most_extra_s": 300.0}, "late"),
        ({"cuts_off": 1, "late": 1}, "cuts-off"),
        ({"cuts_off": 1, "itself": 1}, "cuts-off"),
    ],
)
def test_bands(cost: dict[str, float], band: str) -> None:
    assert band_of(ClosureCost(element="H1", **cost)) == band


def test_what_is_in_view_is_strong_and_what_cuts_off_has_rungs() -> None:
    found = drawn(
        sheet(
            ClosureCost(element="HZ", cuts_off=3),
            ClosureCost(element="HN", most_extra_s=400.0),
            ClosureCost(element="HS", most_extra_s=0.0),
            ClosureCost(element="S1", itself=1),
        ).figure
    )
    assert found == {
        "plan.loss.cuts-off.near": 1,
        "plan.loss.cuts-off.rungs": 1,
        "plan.loss.far.far": 1,
        "plan.loss.itself.points": 1,
    }


def test_the_worst_are_named_and_labels_are_apart() -> None:
    found = sheet(
        ClosureCost(element="HZ", cuts_off=3),
        ClosureCost(element="HS", most_extra_s=75.4),
        views=("plan", "nadir"),
    )
    for panel in found.panels:
        named = [one.label.text for one in panel.placed]
        assert ("HZ cuts off 3" in named) == (panel.name == "plan")
        for one, other in combinations([placed.box for placed in panel.placed], 2):
            apart = one[2] <= other[0] or other[2] <= one[0]
            assert apart or one[3] <= other[1] or other[3] <= one[1]
    assert "HS +75 s" in [one.label.text for one in found.panels[0].placed]


def test_what_no_view_shows_is_told() -> None:
    condition = small_depot().conditions[0].id
    said = texts(
        sheet(
            ClosureCost(element="HN", cuts_off=1),
            ClosureCost(element=condition, cuts_off=2),
        ).figure
    )
    assert "they cut goals off, behind in every view here: HN" in said
    assert f"in force they cut goals off: {condition}" in said
    assert "loss of those without colour: no goal is later" in said
    said = texts(sheet(ClosureCost(element="HN", cuts_off=1), views=("nadir",), every=False).figure)
    assert not [text for text in said if "behind in every view" in text]
    assert "loss of those without colour: no goal is later, or it was NOT LOOKED AT" in said


def test_what_a_goal_is_gone_with_is_named_or_told() -> None:
    found = sheet(ClosureCost(element="HZ", itself=2), ClosureCost(element="HN", itself=1))
    assert "HZ GONE 2" in [one.label.text for one in found.panels[0].placed]
    said = texts(found.figure)
    assert "a goal is GONE with them, behind in every view here: HN" in said
    assert not [text for text in said if "cut goals off" in text]


def test_what_makes_a_goal_too_late_home_is_named_or_told() -> None:
    condition = small_depot().conditions[0].id
    found = sheet(
        ClosureCost(element="HZ", late=2, most_extra_s=75.4),
        ClosureCost(element="HN", late=1),
        ClosureCost(element=condition, late=1),
    )
    assert drawn(found.figure)["plan.loss.late.rungs"] == 2
    assert "HZ LATE 2" in [one.label.text for one in found.panels[0].placed]
    said = texts(found.figure)
    assert "lost: TOO LATE HOME from a goal (3)" in said
    assert "without them it is TOO LATE HOME, behind in every view here: HN" in said
    assert f"in force it is TOO LATE HOME: {condition}" in said


def test_costs_of_something_else_are_an_error() -> None:
    with pytest.raises(DrawingError, match="H99"):
        sheet(ClosureCost(element="H99"))
