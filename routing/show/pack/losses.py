"""What becomes of the plan when time is lost: what breaks, and what is dropped for it."""

from routing.outings.choosing.late_records import TimeLost
from routing.outings.told.time_lost_text import time_lost_lines
from routing.show.pack.markup import Html, joined, said, tag
from routing.show.pack.material import PackMaterial
from routing.show.pack.parts import Section, Table, table

__all__ = ["losses_section"]


def losses_section(material: PackMaterial) -> Section:
    """Return what is broken and what is dropped for each loss of time that was asked about."""
    body = joined([_loss(one) for one in material.losses], "\n") or tag(
        "p",
        "Not looked at: what is broken and what is dropped for it when time is lost was not asked "
        "for; add --late MINUTES@ACT to the call that wrote this page.",
    )
    return Section(anchor="losses", detail=True, title="If time is lost", body=body)


def _loss(lost: TimeLost) -> Html:
    where = joined(["at ", said(lost.at)]) if lost.at else "before the first act"
    first, *rest = (line.strip() for line in time_lost_lines(lost, groups=False))
    groups = table(
        Table(
            caption="Groups that could be dropped",
            heads=("group", "name", "kind", "worth", "acts", "what becomes of it"),
            numbers=frozenset({3}),
            rows=[
                (
                    said(one.id),
                    said(one.name) if one.name else None,
                    one.kind,
                    f"{one.worth:g}",
                    joined((said(act) for act in one.acts), ", "),
                    "dropped" if one.dropped else "has begun" if one.begun else "stays",
                )
                for one in lost.rows
            ],
            empty="The plan has no group of acts that could be dropped.",
        )
    )  # fmt: skip
    bad = "bad" if lost.reason or (lost.broken and not lost.enough) else None
    return joined(
        [
            tag("h3", f"{lost.minutes:g} min lost ", where),
            tag("p", said(first), class_=bad),
            tag("ul", *(tag("li", said(line)) for line in rest)) if rest else None,
            groups,
        ],
        "\n",
    )
