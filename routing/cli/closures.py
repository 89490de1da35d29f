"""`gripway closures STRUCTURE`: what becomes of all routes when something is out of use."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.cli.options import (
    AsJson,
    CarryOption,
    CloseOption,
    LimitsOption,
    PersonOption,
    Protocol,
    ProtocolOption,
    ReelOption,
    StructureArgument,
    WhenOption,
)
from routing.cli.study_drawing import StudyDrawing, ViewsOption
from routing.cli.study_options import (
    ClusterOption,
    RowsOption,
    Running,
    WorkersOption,
    WorkOption,
    run_for,
)
from structures.errors import InvalidDocumentError, Problem

if TYPE_CHECKING:
    from routing.cli.closures_answer import AdditionsAnswer
    from routing.studies.closures.answers import Asked, Trip
    from routing.studies.closures.ranking import Tally

__all__ = ["command"]


def command(
    structure: StructureArgument,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Draw what the loss of each element costs too: SVG, PNG or PDF.",
        ),
    ] = None,
    view: ViewsOption = None,
    trip: Annotated[
        list[str] | None,
        typer.Option(
            "--trip",
            metavar='"FROM TO"',
            help="A way to look at: two ids with a blank between; may be repeated. "
            "Default: from the hatch to every worksite.",
        ),
    ] = None,
    together: Annotated[
        list[str] | None,
        typer.Option(
            "--together",
            metavar="ID",
            help="Repeated: every two of these elements out of use at once, too.",
        ),
    ] = None,
    together_near: Annotated[
        str | None,
        typer.Option(
            "--together-near",
            metavar="ID",
            help="Every two elements within --within of this one out of use at once, too.",
        ),
    ] = None,
    within_m: Annotated[
        float, typer.Option("--within", metavar="METRES", help="How near, for --together-near.")
    ] = 1.5,
    additions: Annotated[
        int,
        typer.Option(
            "--additions",
            metavar="K",
            help="Choose up to K handrails to add in near misses, by what each would repair.",
        ),
    ] = 0,
    top: Annotated[
        int, typer.Option("--top", metavar="N", help="How many critical elements to print.")
    ] = 20,
    rows: RowsOption = None,
    workers: WorkersOption = 1,
    cluster: ClusterOption = None,
    work: WorkOption = None,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    carry: CarryOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.LEAPFROG,
    reel: ReelOption = None,
    as_json: AsJson = False,
) -> None:
    """Take elements out of use one by one, and rank them by what it costs all routes.

    Exit code 1: a goal has no safe way, or none in time home, or loses its last one to a
    closure of something else than what it is at; or who is there when it closes is not home
    in time. A goal at what is closed is told as GONE.
    """
    from routing.cli.answers import head_of
    from routing.cli.closures_answer import FAILS, ClosuresAnswer, home_of
    from routing.cli.closures_asked import Region, chosen_closures, chosen_trips, read_pairs
    from routing.cli.closures_text import print_closures
    from routing.cli.output import print_caution, print_heading, print_json
    from routing.cli.question import Choices, ask
    from routing.cli.stages import stage
    from routing.graph.cuts import find_cuts
    from routing.studies.closures.answers import Answers, Asked
    from routing.studies.closures.ranking import count_rows
    from routing.studies.closures.reached import reached_goals
    from routing.studies.closures.sweep import closure_study

    drawing = StudyDrawing(output, view)
    running = Running(workers=workers, cluster=cluster, work=work, rows=rows)
    problems = list(running.problems())
    pairs = read_pairs(trip or (), problems)
    chosen = Choices(
        when=when,
        close=close,
        person=person,
        carry=carry,
        limits=limits,
        reel=reel,
        protocol=protocol.value,
        trips=[tuple(("option --trip", site) for site in pair) for pair in pairs],
        targets=[*running.targets(), *drawing.targets()],
        problems=drawing.problems(),
    )
    try:
        question = ask(structure, chosen)
    except InvalidDocumentError as error:
        raise InvalidDocumentError((*error.problems, *problems)) from None
    region = Region(together or (), together_near, within_m)
    closures = chosen_closures(question, region, problems)
    for option, value in (("--top", top), ("--additions", additions)):
        if value < 0:
            problems.append(
                Problem(place=f"option {option}", message=f"{value}", remedy="give 0 or more")
            )
    if problems:
        raise InvalidDocumentError(tuple(problems))
    trips = chosen_trips(question, pairs)
    if not trips:
        raise InvalidDocumentError(
            (
                Problem(
                    place="STRUCTURE",
                    message="there is no worksite that a way could be lost to",
                    remedy='add worksites, or name a way with --trip "FROM TO"',
                ),
            )
        )
    asked = Asked(
        structure=question.structure,
        situation=question.situation,
        protocol=protocol.value,
        kit=question.kit,
    )
    with stage("searching with nothing closed"):
        answers = Answers(asked, searches=len(trips))
        intact = reached_goals(answers, trips)
        graph = answers.ground().graph
        cuts = find_cuts(graph)
    study = closure_study(asked, trips, closures, question.inputs)
    tally = count_rows(question.structure, run_for(study, running))
    answer = ClosuresAnswer(
        **head_of(question),
        protocol=protocol.value,
        reels_m=None if question.kit is None else question.kit.reels_m,
        trips=len(trips),
        closures=len(closures),
        changed=tally.rows,
        safe=tally.safe and all(one.safe and one.home not in FAILS for one in intact),
        home=home_of(intact, tally),
        home_limit_s=answers.situation.limits.time_home_limit_s,
        intact=intact,
        critical=tally.critical,
        single_points=tally.single_points,
        cut_grips=tuple(graph.grips.ids[grip] for grip in cuts.grips),
        bridges=tuple((graph.grips.ids[a], graph.grips.ids[b]) for a, b in cuts.bridges),
        additions=_additions(asked, trips, tally, additions, running) if additions else None,
    )
    if output is not None:
        from routing.cli.closures_drawing import draw_closures

        draw_closures(question, answer, drawing)
    if as_json:
        print_json(answer)
    else:
        print_heading(question)
        print_closures(answer, top=top, rows=rows, drawing=output)
        print_caution()
    raise typer.Exit(0 if answer.safe else 1)


def _additions(
    asked: "Asked", trips: "Sequence[Trip]", tally: "Tally", most: int, running: Running
) -> "AdditionsAnswer":
    """Choose handrails to add; every evaluation is a part of a study of its own."""
    from routing.cli.closures_answer import AdditionsAnswer, Candidate
    from routing.cli.stages import stage
    from routing.cli.study_options import progress_on_stderr
    from routing.studies.closures.additions import (
        Runner,
        choose_additions,
        find_additions,
        losses_of,
    )
    from routing.studies.closures.answers import Answers

    with stage("looking for near misses"):
        found = find_additions(Answers(asked).ground().graph)
    chosen, alone = choose_additions(
        asked,
        trips,
        losses_of(tally.critical),
        found,
        most=most,
        runner=Runner(
            workers=running.workers,
            cluster=running.cluster,
            folder=running.work,
            progress=progress_on_stderr("additions"),
        ),
    )
    return AdditionsAnswer(
        chosen=chosen,
        candidates=tuple(Candidate(addition=one, alone=alone[one.id]) for one in found),
    )
