"""An unsafe route cannot be taken for a safe one on the map, in grey print either."""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.paths.route import find_route
from routing.show.maps.from_route import map_route
from routing.show.maps.maps import compose_map, draw_map
from routing.show.maps.unrolled import draw_unrolled
from routing.show.sheets.style import SHEETS_IN, MapStyle
from structures.files.reader import read_structure
from tests.cli.command_ground import EXAMPLES
from tests.routing.show.show_ground import (
    artists,
    covered,
    dense_station,
    overlaps,
    straight_route,
    texts,
)

DENSE = dense_station()
SAFE = straight_route(DENSE, "H0000-0", "EV1")
UNSAFE = replace(straight_route(DENSE, "H0001-1", "EV2"), unsafe=True)


def crosses(figure: Figure, panel: str, route: int) -> list[object]:
    return artists(figure, f"{panel}.route-{route}.unsafe")


def test_it_is_hollow_crossed_and_named() -> None:
    figure = draw_map(DENSE, views=("plan",), routes=(SAFE, UNSAFE))
    assert crosses(figure, "plan", 1) == []
    assert artists(figure, "plan.route-1.hollow") == []
    assert len(artists(figure, "plan.route-2.hollow")) == 1
    lettering, ink = crosses(figure, "plan", 2)
    for line in (lettering, ink):
        assert line.get_marker() == "x"
        assert len(line.get_xdata()) > 1
    # In grey too: a black cross on a white edge.
    lightness = [np.mean(to_rgb(line.get_markeredgecolor())) for line in (lettering, ink)]
    assert lightness[0] - lightness[1] > 0.8
    said = texts(figure)
    assert any(text.startswith("UNSAFE, do not use: B: EV2") for text in said)
    assert any(text == "B: EV2, UNSAFE" for text in said)
    assert not any("UNSAFE" in text and "EV1" in text for text in said)


@pytest.mark.parametrize("sheet", sorted(SHEETS_IN))
def test_labels_keep_clear_of_the_crosses_on_every_sheet(sheet: str) -> None:
    drawn = compose_map(
        DENSE, views=("plan",), routes=(SAFE, UNSAFE), style=MapStyle(sheet_in=SHEETS_IN[sheet])
    )
    for panel in drawn.panels:
        assert overlaps(panel) == []
        assert covered(panel) == []


def test_a_skin_shows_it_too_and_the_verdict_decides() -> None:
    structure = read_structure(EXAMPLES["small"])
    graph = build_graph(structure, Situation())
    route = find_route(graph, "hatch", "W1")
    assert route.safe
    blocked = replace(route, verdict="unsafe")
    for one, count in ((route, 0), (blocked, 2)):
        drawn = map_route(structure, one, "EV1")
        assert drawn.unsafe == (not one.safe)
        assert len(crosses(draw_unrolled(structure, "module", routes=(drawn,)), "skin", 1)) == count
