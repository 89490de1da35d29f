"""The ways: for each one its figures, its map, and its steps, tied to one another."""

from collections.abc import Iterator

from routing.paths.answers.results import Route
from routing.paths.answers.step_text import Step, moves_text, steps_with_places
from routing.show.pack.drawings import Looks
from routing.show.pack.markup import Child, Html, joined, said, tag
from routing.show.pack.material import PackMaterial, PackWay, ways_of
from routing.show.pack.parts import Section, margin, moment, names
from routing.show.pack.way_maps import way_map
from structures.counting import counted

__all__ = ["ways_section"]


def ways_section(material: PackMaterial, looks: Looks) -> Section:
    """Return the section of all ways, by time."""
    parts = [_way(material, way, looks) for way in ways_of(material.planned)]
    intro = tag(
        "p",
        "Every way is found by exact search from where the person and the tethers really are. "
        "Choose a step to see its place on the map; choose a place on the map to see its step. "
        "In H1@0.250 the number is metres along the handrail.",
    )
    none = tag("p", "Nobody goes anywhere in this plan.")
    return Section(
        anchor="ways",
        title="Ways, with maps and steps",
        body=joined([intro, *(parts or [none])], "\n"),
    )


def _way(material: PackMaterial, way: PackWay, looks: Looks) -> Html:
    trip, route = way.trip, way.trip.route
    title = f"{way.key}-title"
    heading = tag(
        "h3",
        f"{moment(way.start_s)} ",
        said(way.person),
        ": ",
        said(trip.from_site),
        " to ",
        said(trip.to_site),
        " ",
        tag("small", "(for ", said(trip.act), ")"),
        id=title,
    )
    if route is None:
        inner: list[Child] = [
            tag("p", tag("strong", "NO WAY: "), said(trip.why_not), class_="bad", data_find=True)
        ]
    else:
        inner = [_figures(way, route), *_watch(route), _steps_on_paper(way)]
        steps = steps_with_places(route)
        inner.append(
            tag(
                "div",
                _map(material, way, route, steps, looks),
                _steps(way, steps),
                class_="mapped",
            )
        )
    return tag(
        "article",
        heading,
        *inner,
        id=way.key,
        class_="way",
        aria_labelledby=title,
        data_way=way.key,
    )


def _map(
    material: PackMaterial, way: PackWay, route: Route, steps: tuple[Step, ...], looks: Looks
) -> Html:
    """Return the map of a way, a text until it is wanted: nine tenths of the page are maps."""
    return tag(
        "div",
        tag("noscript", way_map(material.planned, way, route, steps, looks)),
        class_="map",
        tabindex="0",
        role="region",
        aria_label=f"Map of way {way.key.removeprefix('w')}, may be scrolled",
    )


def _steps(way: PackWay, steps: tuple[Step, ...]) -> Html:
    items = (
        tag(
            "li",
            tag(
                "button",
                tag("span", str(number), class_="count"),
                " ",
                said(step.text),
                type="button",
                data_step=number,
            ),
            data_find=True,
        )
        for number, step in enumerate(steps, start=1)
    )
    return tag(
        "ol",
        joined(items, "\n"),
        class_="steps",
        role="list",
        aria_label=f"Steps of way {way.key.removeprefix('w')}",
    )


def _steps_on_paper(way: PackWay) -> Html:
    """Return what has this way's steps printed, where not everything is."""
    return tag(
        "label",
        tag("input", type="checkbox", aria_describedby=f"{way.key}-title"),
        " Print its steps too",
        class_="paper",
    )


def _figures(way: PackWay, route: Route) -> Html:
    sums, trip = route.totals, way.trip
    rows: list[tuple[str, Child]] = [
        ("time", f"{sums.seconds:.0f} s, from {moment(way.start_s)} to {moment(way.end_s)} PET"),
        ("way of the hands", f"{sums.distance_m:.2f} m, {moves_text(route)}"),
        ("tethers", f"{route.protocol}, {counted(sums.transfers, 'transfer')}"),
        *_margins(route),
    ]
    if trip.manner != "best":
        said_of = {"retrace": "back along the line", "recover": "takes up every safety tether"}
        rows.append(("manner", said_of[trip.manner]))
    if trip.carry is not None:
        rows.append(("load", said(trip.carry.name or trip.carry.id)))
    if trip.when:
        rows.append(("clear of zones under", names(trip.when)))
    if trip.laying:
        rows.append(("cable", "is laid along it"))
    return tag("dl", *(tag("div", tag("dt", word), tag("dd", value)) for word, value in rows))


def _margins(route: Route) -> Iterator[tuple[str, Child]]:
    margins = route.margins
    if margins.line is not None:
        yield (
            "least line spare",
            joined([
                margin(margins.line.least_left_m - margins.line.reserve_m),
                f" m above the reserve of {margins.line.reserve_m:.3f} m at ",
                said(margins.line.worst_grip),
            ]),
        )  # fmt: skip
    if margins.gap is not None:
        yield (
            "least reach left",
            joined([
                margin(margins.gap.left_m), " m at ", said(margins.gap.from_grip), " to ",
                said(margins.gap.to_grip), f" (reach {margins.gap.reach_m:.3f} m)",
            ]),
        )  # fmt: skip
    if margins.clearance is not None:
        near = margins.clearance
        yield (
            "least clearance",
            joined([
                margin(near.clearance_m), " m beyond the corridor at ", said(near.to_grip),
                " to ", said(near.solid or near.zone or "what is near"),
            ]),
        )  # fmt: skip


def _watch(route: Route) -> Iterator[Html]:
    if not route.findings:
        return
    words = {"blocks": "STOP", "warns": "Watch", "notes": "Note"}
    yield tag(
        "ul",
        *(
            tag(
                "li",
                tag("strong", f"{words[one.severity]}: "),
                said(one.message),
                class_="note" if one.severity == "notes" else None,
                data_find=True,
            )
            for one in route.findings
        ),
        class_="watch",
    )
