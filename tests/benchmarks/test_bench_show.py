"""Drawing a map against a bare matplotlib figure with as many artists, in the same run."""

import io
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from matplotlib.collections import LineCollection, PathCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text

from routing.show.maps.maps import draw_map
from routing.show.sheets.saving import save_figure
from structures.files import read_structure
from structures.model import Structure
from tests.routing.show.show_ground import dense_station, straight_route

VIEWS = {
    "plan": ("plan",),
    "plan and side": ("plan", "starboard"),
    "four": ("plan", "starboard", "forward", "nadir"),
}

EXAMPLE = Path("examples/station/station.toml")
STATIONS: dict[str, tuple[Callable[[], Structure], str]] = {
    "the example": (lambda: read_structure(EXAMPLE), "H10"),
    "a dense one": (dense_station, "H0000-0"),
}
"""How to get a station, and along which of its handrails a route goes."""


def seconds(run: Callable[[], object], times: int = 3) -> float:
    """Return the median processor time of some runs, after one that is not counted [s]."""
    run()
    taken = []
    for _ in range(times):
        start = time.process_time()
        run()
        taken.append(time.process_time() - start)
    return statistics.median(taken)


def bare(like: Figure, kind: str) -> None:
    """Draw a figure with as many texts, lines and collections of as many paths, and save it."""
    figure = Figure(figsize=tuple(like.get_size_inches()))
    for axes in like.axes:
        mine = figure.add_axes(axes.get_position().bounds)
        mine.set_axis_off()
        for text in axes.texts:
            mine.text(*text.get_position(), text.get_text(), fontsize=5.5, parse_math=False)
        for line in axes.findobj(Line2D, include_self=False):
            mine.plot(line.get_xdata(), line.get_ydata(), "o", markersize=3)
        for collection in axes.collections:
            paths = collection.get_paths()
            if isinstance(collection, LineCollection):
                mine.add_collection(LineCollection([path.vertices for path in paths]))
            else:
                mine.add_collection(PathCollection(paths))
        mine.set_xlim(axes.get_xlim())
        mine.set_ylim(axes.get_ylim())
    figure.savefig(io.BytesIO(), format=kind)


@pytest.mark.benchmark
@pytest.mark.parametrize("views", sorted(VIEWS))
@pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
@pytest.mark.parametrize("which", sorted(STATIONS))
def test_map_against_a_bare_figure(which: str, kind: str, views: str, tmp_path: Path) -> None:
    make, along = STATIONS[which]
    station = make()
    routes = (straight_route(station, along, "EV1"),)
    file = tmp_path / f"map.{kind}"

    def ours() -> None:
        save_figure(draw_map(station, views=VIEWS[views], routes=routes), file)

    figure = draw_map(station, views=VIEWS[views], routes=routes)
    texts = sum(bool(one.get_text()) for one in figure.findobj(Text))
    drawing_s = seconds(ours)
    bare_s = seconds(lambda: bare(figure, kind))
    print(
        f"\nmap of {which}, {kind}, {views}: {len(station.handrails)} handrails, {texts} texts,"
        f" {drawing_s:.2f} s, bare figure {bare_s:.2f} s, ratio {drawing_s / bare_s:.2f}"
    )
