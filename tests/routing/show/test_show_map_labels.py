"""Labels of maps: none on another or on a mark, none lost."""

import numpy as np
import pytest

from routing.show.maps.maps import compose_map
from routing.show.maps.projection import FlatProjection
from routing.show.sheets.style import SHEETS_IN, MapStyle
from structures.model import Structure
from structures.views import VIEWS
from tests.routing.show.show_ground import (
    covered,
    dense_station,
    overlaps,
    small_depot,
    straight_route,
    walker,
)

DEPOT = small_depot()


@pytest.fixture(scope="module")
def dense() -> Structure:
    return dense_station()


@pytest.mark.parametrize("sheet_in", [(16.54, 11.69), (7.5, 10.5), (33.1, 23.4)])
def test_no_label_overlaps_another_or_covers_a_mark(
    dense: Structure, sheet_in: tuple[float, float]
) -> None:
    routes = (straight_route(dense, "H0000-0", "EV1"), straight_route(dense, "H0001-1", "EV2"))
    sheet = compose_map(
        dense,
        views=("plan", "starboard", "forward"),
        routes=routes,
        style=MapStyle(sheet_in=sheet_in),
    )
    for panel in sheet.panels:
        assert len(panel.placed) > 20
        assert overlaps(panel) == []
        assert covered(panel) == []
        for one in panel.placed:
            assert one.box[0] >= 0
            assert one.box[2] <= panel.panel.width_pt
            assert one.box[3] <= panel.panel.height_pt


def test_every_id_in_view_is_written_or_counted(dense: Structure) -> None:
    sheet = compose_map(dense, views=("plan",), style=MapStyle(sheet_in=SHEETS_IN["A4"]))
    (panel,) = sheet.panels
    projection = FlatProjection(VIEWS["plan"], dense.solids, None)
    in_view = 0
    for rail in dense.handrails:
        first, last = np.array(rail.points_m)  # all of these are straight
        spots = first + np.linspace(0.01, 0.99, 60)[:, None] * (last - first)
        in_view += projection.near(spots, np.tile(rail.normal, (60, 1))).any()
    rails = [one for one in panel.placed if one.label.kind == "handrail"]
    left_out = [one for one in panel.left_out if one.kind == "handrail"]
    known = {rail.id for rail in dense.handrails}
    in_key = [one for one in panel.placed if one.label.kind == "key" and one.label.text in known]
    assert len(rails) + len(in_key) + len(left_out) == in_view


def test_an_empty_sheet_round_a_few_rails_names_them_all() -> None:
    for panel in compose_map(DEPOT, views=("plan", "starboard"), routes=(walker(),)).panels:
        assert panel.left_out == ()
        assert panel.notes == ()


def test_drawn_texts_stand_in_their_boxes() -> None:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    sheet = compose_map(DEPOT, views=("plan",), routes=(walker(),))
    sheet.figure.set_dpi(288)
    renderer = FigureCanvasAgg(sheet.figure).get_renderer()
    (panel,) = sheet.panels
    drawn = [one for kind in sheet.figure.axes for one in kind.texts]
    labels = [one for one in drawn if (one.get_gid() or "").startswith("plan.label")]
    assert len(labels) == len(panel.placed)
    for text, placed in zip(labels, panel.placed, strict=True):
        extent = text.get_window_extent(renderer)
        left = extent.x0 * 72 / 288 - panel.panel.left_pt
        bottom = extent.y0 * 72 / 288 - panel.panel.bottom_pt
        right = extent.x1 * 72 / 288 - panel.panel.left_pt
        assert text.get_text() == placed.label.text
        assert left >= placed.box[0] - 0.3
        assert right <= placed.box[2] + 0.3
        assert bottom >= placed.box[1] - 2.0  # the extent has the font's depth, the box the ink's
