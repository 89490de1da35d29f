"""The run sheet, the item ledger and the safety tethers, row by row."""

from routing.outings.told.results import RunRow
from routing.show.pack.markup import Child, Html, joined, said, tag
from routing.show.pack.material import PackMaterial, ways_of
from routing.show.pack.parts import Section, Table, margin, moment, names, table

__all__ = ["ledger_section", "run_sheet_section"]


def run_sheet_section(material: PackMaterial) -> Section:
    """Return everything in time order, ways with a link to their map."""
    answer = material.planned.answer
    keys = {(way.trip.act, way.person): way.key for way in ways_of(material.planned)}
    rows, reserve_m = answer.run_sheet, material.limits.reserve_m
    return Section(
        anchor="run-sheet",
        title="Run sheet",
        body=table(
            Table(
                caption="Run sheet; PET: phased elapsed time, h:min since the outing began; * is "
                "critical: a delay there delays the end",
                heads=(
                    "PET", "to", "who", "act", "what", "handrails", "transfers",
                    "above reserve [m]", "turn home by", "slack", "remarks",
                ),
                numbers=frozenset({6, 7}),
                rows=[_run_row(row, keys, reserve_m) for row in rows],
                # Not "way": that is what a section of steps and map is, each on its own page.
                row_classes=[
                    f"row-{row.kind}{' critical' if row.critical else ''}" for row in rows
                ],
            )
        ),
    )  # fmt: skip


def _run_row(row: RunRow, keys: dict[tuple[str, str], str], reserve_m: float) -> tuple[Child, ...]:
    text: Html = said(row.text)
    key = keys.get((row.act or "", row.who[0])) if row.kind == "way" and row.who else None
    return (
        f"{moment(row.start_s)}{'*' if row.critical else ''}",
        moment(row.end_s),
        joined((said(one) for one in row.who), " + "),
        said(row.act) if row.act else None,
        text if key is None else tag("a", text, href=f"#{key}"),
        joined((said(one) for one in row.handrails), " "),
        "" if row.transfers is None else str(row.transfers),
        margin(None if row.line_left_m is None else row.line_left_m - reserve_m),
        "" if row.turn_by_s is None else moment(max(row.turn_by_s, 0.0)),
        moment(row.slack_s),
        joined((said(one) for one in row.remarks), "; "),
    )


def ledger_section(material: PackMaterial) -> Section:
    """Return where every item and every safety tether is, whenever that changes."""
    answer = material.planned.answer
    items = table(
        Table(
            caption="Item ledger",
            heads=("PET", "item", "act", "person", "place", "how"),
            rows=[
                (
                    moment(one.at_s),
                    said(one.item),
                    said(one.act) if one.act else "at first",
                    said(one.person) if one.person else None,
                    said(one.place),
                    said(one.how),
                )
                for one in answer.ledger
            ],
            empty="The plan has no items.",
        )
    )
    tethers = table(
        Table(
            caption="Safety tethers, the first hooked one first: where, line out of length",
            heads=("PET", "person", "act", "hooked", "carried [m]"),
            rows=[
                (
                    moment(one.at_s),
                    said(one.person),
                    said(one.act) if one.act else "at first",
                    joined(
                        (
                            joined([
                                said(stay.tether_point),
                                f" {stay.payout_m:.2f} of {stay.length_m:.2f} m",
                                " (staged there)" if stay.staged else None,
                            ])
                            for stay in one.stack
                        ),
                        ", then ",
                    ),
                    names(f"{reel:.2f}" for reel in one.carried_m) or "none",
                )
                for one in answer.tethers
            ],
            empty="Nobody is on reels.",
        )
    )  # fmt: skip
    return Section(
        anchor="ledger",
        detail=True,
        title="Items and safety tethers",
        body=joined([items, tethers], "\n"),
    )
