"""The map of one way, with the place of every step laid over it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from routing.limits import Limits
from routing.paths.answers.results import Route
from routing.paths.answers.step_text import Step
from routing.show.maps.from_route import map_route
from routing.show.maps.maps import compose_map
from routing.show.pack.drawings import Looks, inline_svg
from routing.show.pack.markup import Html, joined, tag
from routing.show.pack.material import PackWay
from routing.show.sheets.inputs import MapFacts, region_around
from routing.show.sheets.sheet import Panel
from routing.show.sheets.style import SHEETS_IN, MapStyle
from structures.views import VIEWS

if TYPE_CHECKING:
    from routing.outings.plan import PlannedOuting

__all__ = ["WAY_STYLE", "step_places", "way_map"]

WAY_STYLE: Final = MapStyle(sheet_in=SHEETS_IN["A4-upright"])
"""Upright: views one above the other have room for twice the scale and most ids."""

_VIEWS: Final = ("plan", "starboard")


def way_map(
    planned: "PlannedOuting", way: PackWay, route: Route, steps: Sequence[Step], looks: Looks
) -> Html:
    """Return the map round a way as SVG."""
    structure, limits = planned.ground.structure, planned.ground.limits
    drawn = map_route(structure, route, way.person)
    sheet = compose_map(
        structure,
        views=_VIEWS,
        routes=(drawn,),
        facts=_facts(planned, way, limits),
        style=WAY_STYLE,
        region=region_around((drawn,)),
    )
    label = (
        f"Map of the way of {way.person} from {way.trip.from_site} to {way.trip.to_site}, in plan "
        "and starboard view. The steps beside it say the same in words."
    )
    panels = [(result.name, result.panel) for result in sheet.panels]
    over = step_places(route, steps, panels)
    return inline_svg(sheet.figure, way.key, looks, label, over)


def _facts(planned: "PlannedOuting", way: PackWay, limits: Limits) -> MapFacts:
    unsafe = way.trip.route is not None and not way.trip.route.safe
    trip = f"{way.person}: {way.trip.from_site} to {way.trip.to_site} ({way.trip.act})"
    return MapFacts(
        subject=f"UNSAFE: {trip}" if unsafe else trip,
        inputs=planned.answer.inputs,
        limits=limits,
        when=way.trip.when,
        closed=planned.ground.closed,
    )


def step_places(
    route: Route,
    steps: Sequence[Step],
    panels: Sequence[tuple[str, Panel]],
) -> Html:
    """Return where each step is done: a line or ring in every view, in the units of the sheet.

    A step along a handrail is a line; one in one place is a ring only. At the end of each
    line there is a ring too, so that the place is found in grey as well. Earlier steps
    lie over later ones, so that the ring at which a step ends is its own.
    """
    height_pt = WAY_STYLE.sheet_pt[1]
    at_m = np.array([grip.position_m for grip in route.grips])
    groups = []
    for number, step in enumerate(steps, start=1):
        shapes = []
        for name, panel in panels:
            part = panel.to_page_pt(VIEWS[name].project(at_m[step.first_grip : step.last_grip + 1]))
            x = part[:, 0] + panel.left_pt
            y = height_pt - panel.bottom_pt - part[:, 1]
            corners = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))
            if len(part) > 1:
                shapes.append(tag("polyline", points=corners, class_="reachable"))
                shapes.append(tag("polyline", points=corners, class_="shown"))
            shapes.append(tag("circle", cx=f"{x[-1]:.1f}", cy=f"{y[-1]:.1f}", r="6.5"))
        groups.append(tag("g", *shapes, class_="place", data_step=number))
    return tag("g", joined(reversed(groups)), class_="places", aria_hidden="true")
