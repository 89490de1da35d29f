"""`gripway pairs STRUCTURE`: the way between any two sites, both ways."""

from typing import TYPE_CHECKING, Annotated

import typer

from routing.cli.cases import (
    CasePick,
    LoadsOption,
    OnePeopleOption,
    PeopleOption,
    RatesOption,
    ReachesOption,
)
from routing.cli.option_faults import finite
from routing.cli.options import (
    AsJson,
    CloseOption,
    LimitsOption,
    Protocol,
    ReelOption,
    StructureArgument,
    WhenOption,
)
from routing.cli.study_options import (
    ClusterOption,
    RowsOption,
    Running,
    WorkersOption,
    WorkOption,
    run_for,
)

if TYPE_CHECKING:
    from routing.cli.question import Check
    from routing.paths.answers.results import Protocol as ProtocolName
    from structures.errors import Problem
    from structures.model import Structure

__all__ = ["SitesOption", "TwoProtocolsOption", "both_protocols", "check_running", "command"]

SitesOption = Annotated[
    list[str] | None,
    typer.Option(
        "--sites",
        metavar="SITES",
        help="hatches, worksites, sockets, handholds, tether-points, handrails, or an id; "
        "may be repeated. Default: hatches and worksites.",
    ),
]
_MOST_TOLERANCE_S = 86_400.0
"""A day: more is no tolerance, and infinity no number."""

TwoProtocolsOption = Annotated[
    Protocol | None,
    typer.Option("--protocol", help="Ask about one tether protocol only.", show_default="both"),
]


def command(
    structure: StructureArgument,
    sites: SitesOption = None,
    person: PeopleOption = None,
    people: OnePeopleOption = False,
    reach: ReachesOption = None,
    rate: RatesOption = None,
    carry: LoadsOption = None,
    when: WhenOption = None,
    close: CloseOption = None,
    limits: LimitsOption = None,
    protocol: TwoProtocolsOption = None,
    reel: ReelOption = None,
    tolerance: Annotated[
        float,
        typer.Option(
            "--tolerance",
            metavar="SECONDS",
            callback=finite,
            min=0.0,
            max=_MOST_TOLERANCE_S,
            help="Tell ways apart that differ by more.",
        ),
    ] = 1.0,
    workers: WorkersOption = 1,
    cluster: ClusterOption = None,
    work: WorkOption = None,
    rows: RowsOption = None,
    as_json: AsJson = False,
) -> None:
    """Find the way between any two sites, both ways, for each person and load.

    On reels every trip but one from a hatch starts on a fresh kit, its first
    reel hooked on within hook reach of the start.
    """
    from routing.cli.answers import head_of
    from routing.cli.output import print_json
    from routing.cli.pairs_answer import PairsAnswer, pair_row
    from routing.cli.pairs_text import one_way_more, print_pairs
    from routing.cli.question import Choices, ask
    from routing.paths.tethers.kit import default_kit
    from routing.studies.pairs.study import PairsAsked, pairs_study
    from routing.studies.site_lists import DEFAULT_SITES, choose_sites

    wanted = tuple(sites or DEFAULT_SITES)
    pick = CasePick(
        people=person or (),
        everybody=people,
        reaches=reach or (),
        rates=rate or (),
        loads=carry or (),
    )
    running = Running(workers=workers, cluster=cluster, work=work, rows=rows)
    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            limits=limits,
            reel=reel,
            protocol="leapfrog" if protocol == Protocol.LEAPFROG else "reel",
            targets=running.targets(),
            checks=(check_running(running), pick.check, _check_sites(wanted)),
        ),
    )
    asked = PairsAsked(
        structure=question.structure,
        situations=pick.situations(question),
        sites=choose_sites(question.structure, wanted),
        protocols=both_protocols(protocol),
        kit=question.kit or default_kit(question.situation.limits),
    )
    trips = tuple(pair_row(row) for row in run_for(pairs_study(asked, question.inputs), running))
    answer = PairsAnswer(
        **head_of(question),
        people=pick.people_in(asked.situations),
        loads=pick.loads_in(asked.situations),
        protocols=asked.protocols,
        reels_m=asked.kit.reels_m if "reel" in asked.protocols else None,
        tolerance_s=tolerance,
        safe=all(trip.way == "safe" for trip in trips),
        trips=trips,
        one_way_more=one_way_more(trips, tolerance),
    )
    if as_json:
        print_json(answer)
    else:
        print_pairs(question, asked, answer, rows)
    raise typer.Exit(0 if answer.safe else 1)


def both_protocols(protocol: Protocol | None) -> "tuple[ProtocolName, ...]":
    """Return the protocols that are asked about."""
    return ("leapfrog", "reel") if protocol is None else (protocol.value,)


def check_running(running: Running) -> "Check":
    """Return a check of the options that say how a study runs."""

    def check(structure: "Structure", problems: "list[Problem]") -> None:
        del structure
        problems.extend(running.problems())

    return check


def _check_sites(wanted: tuple[str, ...]) -> "Check":
    def check(structure: "Structure", problems: "list[Problem]") -> None:
        from routing.cli.near_ids import what_is_near
        from routing.graph.sites import SITE_KINDS
        from routing.studies.site_lists import SITE_WORDS, choose_sites, unknown_sites
        from structures.errors import Problem

        ids = [one.id for _, one in structure.elements() if type(one) in SITE_KINDS]
        unknown = unknown_sites(structure, wanted)
        problems.extend(
            Problem(
                place="option --sites",
                message=f"{one!r} is no kind of site and no site's id",
                remedy=what_is_near(one, [*SITE_WORDS, *ids]),
            )
            for one in unknown
        )
        found = choose_sites(structure, wanted)
        if not unknown and len(found) < 2:
            problems.append(
                Problem(
                    place="option --sites",
                    message=f"there is {len(found)} such site",
                    remedy=f"a pair takes two; choose from {', '.join(SITE_WORDS)}, or give ids",
                )
            )

    return check
