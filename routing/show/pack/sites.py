"""The worksites of the outing, and the handrails that it hangs on."""

from math import ceil

from routing.outings.plan import PlannedOuting
from routing.show.maps.closure_costs import closure_costs, draw_closure_costs
from routing.show.pack.drawings import Looks, inline_svg
from routing.show.pack.markup import Child, Html, joined, said, tag
from routing.show.pack.material import PackMaterial
from routing.show.pack.parts import Section, Table, margin, no_margin, table
from routing.show.pack.way_maps import WAY_STYLE
from routing.show.sheets.inputs import MapFacts
from routing.studies.closures.ranking import Critical
from routing.studies.outing_closures import ClosuresFound
from routing.studies.outing_sites import PersonSites
from routing.worksites.not_checked import not_checked
from routing.worksites.reach_table import ReachRow
from structures.counting import counted
from structures.units import number_text

__all__ = ["closures_section", "sites_section"]

_MOST_CLOSURES = 40
"""So many are listed for each person; how many more there are is said."""


def sites_section(material: PackMaterial) -> Section:
    """Return the site table of each person."""
    body = (
        _skipped("the site table", "leave out --no-sites")
        if material.sites is None
        else joined([*(_sites(one) for one in material.sites), _key(material)], "\n")
        if material.sites
        else tag("p", "Nobody works at a worksite in this plan.")
    )
    return Section(anchor="sites", detail=True, title="Worksites", body=body)


def _skipped(what: str, remedy: str) -> Html:
    return tag(
        "p", tag("strong", "NOT CHECKED: "), f"{what} was not asked for; {remedy}.", class_="bad"
    )


def _key(material: PackMaterial) -> Html:
    """Return what the words of the tables mean, as ``gripway reach`` has them, and what is open."""
    key = tag(
        "p",
        "Line spare = line left above the reserve where it is least. One line = the payload is "
        "tied by one chain alone, so that it can swing and drift toward its handrail. DRIFTS = "
        "tied by several that all pull to one side, and none keeps it from drifting there; ",
        tag("code", "gripway tie"),
        " says which way and how far.",
    )
    told = [
        tag("p", tag("strong", "NOT CHECKED: "), said(one.person), ": ", text, class_="bad")
        for one in material.sites or ()
        for text in not_checked(one.rows, asking="see gripway reach")
    ]
    return joined([key, *told], "\n")


def _sites(one: PersonSites) -> Html:
    return table(
        Table(
            caption=f"Worksites of {one.person}, from the hatch with nothing carried, worst first",
            heads=(
                "worksite", "way", "hatch [s]", "line spare [m]", "equipment tether", "handrail",
                "margin [m]", "foot restraint", "its margin [m]", "home", "home [s]", "remarks",
            ),
            numbers=frozenset({2, 3, 6, 8, 10}),
            rows=[_site(row) for row in one.rows],
            row_classes=["bad" if row.failed or _at_a_limit(row) else "" for row in one.rows],
        )
    )  # fmt: skip


def _at_a_limit(row: ReachRow) -> bool:
    margins_m = (row.line_margin_m, row.margin_m, row.restraint_margin_m)
    return any(no_margin(one) for one in margins_m)


def _site(row: ReachRow) -> tuple[Child, ...]:
    place = None if row.handrail is None else said(f"{row.handrail} at {row.along_m or 0.0:.2f} m")
    reasons = (row.way_reason, row.reason, row.restraint_reason, row.home_reason)
    remarks = (*reasons, row.drift_remark, row.restraint_remark)
    return (
        joined([said(row.worksite), " ", said(row.name) if row.name else None]),
        row.way,
        "" if row.seconds is None else f"{row.seconds:.0f}",
        margin(row.line_margin_m),
        row.tie_told,
        place,
        margin(row.margin_m),
        row.restraint,
        margin(row.restraint_margin_m),
        row.home,
        "" if row.home_s is None else number_text(row.home_s, "up", 0),
        joined((said(remark) for remark in remarks if remark), "; "),
    )


def closures_section(material: PackMaterial, looks: Looks) -> Section:
    """Return the single handrails whose loss costs most, for each person, as map and table."""
    intro = tag(
        "p",
        "Every handrail that the outing uses is closed by itself, and the way from the hatch to "
        "every site is searched again, with nothing carried, and the time home from every hold of "
        "it is held against the limit; so is the time home of who is at the site when the handrail "
        "is lost (on reels with tethers left outside). "
        "What a loss means in the middle of "
        "the outing: plan it again with ",
        tag("code", "gripway outing PLAN --close ID"),
        ".",
    )
    body = (
        _skipped("what single handrails cost", "leave out --no-closures")
        if material.closures is None
        else joined(
            [
                intro,
                *(
                    joined([_closures(one, material.planned), _map(material, number, one, looks)])
                    for number, one in enumerate(material.closures, start=1)
                ),
            ],
            "\n",
        )
    )
    return Section(anchor="closures", detail=True, title="Closures that matter", body=body)


def _map(material: PackMaterial, number: int, one: ClosuresFound, looks: Looks) -> Html | None:
    """Return the map of what each handrail's loss costs, a text until it is wanted."""
    planned = material.planned
    costs = closure_costs(one.critical)
    if not costs:
        return None
    figure = draw_closure_costs(
        planned.ground.structure,
        costs,
        views=("plan", "starboard"),
        facts=MapFacts(
            subject=f"{one.person}: what the loss of each handrail in use costs",
            inputs=planned.answer.inputs,
            limits=planned.ground.limits,
            when=tuple(sorted(planned.outing.when)),
            closed=planned.ground.closed,
        ),
        every=False,
        style=WAY_STYLE,
    )
    label = f"Map of closures for {one.person}. The table above says the same in words."
    drawn = inline_svg(figure, f"c{number}", looks, label, Html(""))
    shown = tag(
        "div", tag("noscript", drawn), class_="map", tabindex="0", role="region",
        aria_label=f"Map of closures {number}, may be scrolled",
    )  # fmt: skip
    return tag("div", shown, class_="chart")


def _closures(one: ClosuresFound, planned: PlannedOuting) -> Html:
    listed = one.critical[:_MOST_CLOSURES]
    more = len(one.critical) - len(listed)
    names_of = {rail.id: rail.name for rail in planned.ground.structure.handrails}
    rows = table(
        Table(
            caption=(
                f"{one.person}: {counted(one.closures, 'handrail')} closed one by one against "
                f"{counted(one.trips, 'site')}; {len(one.critical)} of them change a way"
            ),
            heads=(
                "handrail", "name", "no safe way left to", "TOO LATE home from", "slower sites",
                "time lost [s]", "most at", "there [s]", "longest home [s]",
            ),
            numbers=frozenset({4, 5, 7, 8}),
            rows=[_closure(found, names_of) for found in listed],
            row_classes=["bad" if found.costs_goals or found.caught else "" for found in listed],
            empty=f"{one.person}: no single handrail changes a way from the hatch.",
        )
    )  # fmt: skip
    said_more = tag("p", f"Left out, for they change less: {more}.") if more else None
    return joined([rows, said_more])


def _closure(one: Critical, names_of: dict[str, str]) -> tuple[Child, ...]:
    lost = [
        *(said(goal.id) for goal in (*one.lost, *one.unsafe)),
        *(joined([said(goal.id), " (is on it)"]) for goal in one.itself),
    ]
    worst = one.most_extra_goal
    late: list[Child] = [
        *(said(goal.id) for goal in one.late),
        *(joined([said(goal.id), " (who is there then)"]) for goal in one.only_caught),
    ]
    if one.caught_not_checked:
        late.append(f"NOT looked at for who is there then: {one.caught_not_checked}")
    return (
        joined((said(part) for part in one.closure), " + "),
        joined((said(names_of.get(part, "")) for part in one.closure), " + "),
        joined(lost, ", "),
        joined(late, ", "),
        str(one.slower),
        f"{one.extra_s:.0f}",
        None if worst is None else said(worst.id),
        f"{one.most_extra_s:.0f}",
        "" if one.most_home_s is None else f"{ceil(one.most_home_s)}",
    )
