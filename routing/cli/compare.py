"""`gripway compare OLD NEW`: what a new revision changes, and what that does to the answers."""

from dataclasses import dataclass, replace
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
    ReelOption,
    WhenOption,
)
from routing.cli.pairs import both_protocols, check_running
from routing.cli.study_options import (
    ClusterOption,
    RowsOption,
    Running,
    WorkersOption,
    WorkOption,
    run_for,
)

if TYPE_CHECKING:
    from routing.cli.question import Choices, Question
    from routing.studies.revision_closures import HangsOn
    from routing.studies.revision_study import Revisions
    from structures.comparison import Comparison

__all__ = ["command"]


def command(
    old: Annotated[
        Path,
        typer.Argument(metavar="OLD", help="The revision before: a file.", show_default=False),
    ],
    new: Annotated[
        Path, typer.Argument(metavar="NEW", help="The revision after.", show_default=False)
    ],
    output: Annotated[
        Path | None,
        typer.Option(
            "--output", "-o", metavar="FILE", help="Draw before and after too: SVG, PNG or PDF."
        ),
    ] = None,
    view: Annotated[
        list[str] | None,
        typer.Option(
            "--view",
            metavar="VIEW",
            help="View of the drawing: plan, port, starboard, zenith, nadir, forward or aft; "
            "may be repeated. Default: plan.",
        ),
    ] = None,
    around: Annotated[
        bool, typer.Option("--around", help="Draw only the region around what changed.")
    ] = False,
    closures: Annotated[
        bool,
        typer.Option(
            "--closures",
            help="Take every element out of use in both, too: what worksites hang on now.",
        ),
    ] = False,
    top: Annotated[
        int,
        typer.Option(
            "--top",
            metavar="N",
            min=0,
            help="How many elements and answers to print, worst first; lost or unsafe ones always.",
        ),
    ] = 40,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    carry: CarryOption = None,
    limits: LimitsOption = None,
    protocol: Annotated[
        Protocol | None,
        typer.Option("--protocol", help="Ask about one tether protocol only.", show_default="both"),
    ] = None,
    reel: ReelOption = None,
    workers: WorkersOption = 1,
    cluster: ClusterOption = None,
    work: WorkOption = None,
    rows: RowsOption = None,
    as_json: AsJson = False,
) -> None:
    """Say what a new revision changes: elements, and the answers for all worksites.

    The time home is looked at alone, with every tether recovered. Exit code 1: an
    answer was lost or turned unsafe, a new worksite is not safe, or (--closures) a
    worksite hangs on an element on which it did not.
    """
    from routing.cli.answers import head_of
    from routing.cli.compare_answer import CompareAnswer
    from routing.cli.compare_text import print_compared
    from routing.cli.output import print_caution, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.cli.question import Choices
    from routing.paths.answers.results import StructureRef
    from routing.paths.tethers.kit import default_kit
    from routing.paths.worksite_routes import NoHatchError
    from routing.show.maps.from_route import DRAWN_SUFFIXES
    from routing.studies.revision_changes import compare_answers, is_bad, still_not_safe
    from routing.studies.revision_study import Revisions, answers_of, revision_study
    from structures.comparison import compare_structures

    running = Running(workers=workers, cluster=cluster, work=work, rows=rows)
    drawn = [] if output is None else [Target("--output", output, DRAWN_SUFFIXES)]
    choices = Choices(
        when=when,
        close=close,
        person=person,
        carry=carry,
        limits=limits,
        reel=reel,
        protocol="leapfrog" if protocol == Protocol.LEAPFROG else "reel",
        targets=[*running.targets(), *drawn],
        checks=(check_running(running),),
    )
    before, after = _ask_both(old, new, choices)
    for question in (before, after):
        if not question.structure.hatches:
            raise NoHatchError(question.structure.name)
    kept = _with_same_records(before, after)
    asked = Revisions(
        structures=(before.structure, kept.structure),
        situations=(before.situation, kept.situation),
        protocols=both_protocols(protocol),
        kit=after.kit or default_kit(after.situation.limits),
    )
    elements = compare_structures(before.structure, after.structure)
    study = revision_study(asked, (*before.inputs, *after.inputs))
    found = answers_of(run_for(study, running))
    changes = compare_answers(*found)
    hanging = _hanging(asked, (before, after), running) if closures else None
    answer = CompareAnswer(
        **head_of(after),
        old_structure=StructureRef(
            name=before.structure.name,
            revision=before.structure.revision,
            date=before.structure.date,
        ),
        old_inputs=before.inputs,
        protocols=asked.protocols,
        reels_m=None if after.kit is None else after.kit.reels_m,
        safe=not is_bad(changes) and not any(one.now for one in hanging or ()),
        elements=elements,
        compared=len({*found[0], *found[1]}),
        answers=changes,
        still_not_safe=still_not_safe(*found),
        hanging=hanging,
    )
    if output is not None:
        save = _Drawing(output=output, views=tuple(view or ("plan",)), around=around)
        _draw(before, after, elements, save)
    if as_json:
        print_json(answer)
    else:
        print_compared(before, after, answer, top=top)
        if output is not None:
            print_lines("", written("the drawing", output))
        if rows is not None:
            print_lines("", written("every answer", rows))
        print_caution()
    raise typer.Exit(0 if answer.safe else 1)


def _hanging(
    asked: "Revisions", both: tuple["Question", "Question"], running: Running
) -> "tuple[HangsOn, ...]":
    """Return what worksites hang on in one revision only; rows of closures are not written."""
    from routing.studies.revision_closures import compare_hanging, hanging_of

    quiet = replace(running, rows=None)
    old, new = (
        {
            one: hanging_of(
                asked, side, one, both[side].inputs, lambda study: run_for(study, quiet)
            )
            for one in asked.protocols
        }
        for side in range(2)
    )
    return compare_hanging(old, new)


def _ask_both(old: Path, new: Path, choices: "Choices") -> tuple["Question", "Question"]:
    """Read both revisions; what is wrong with either is said in one go."""
    from routing.cli.question import ask
    from structures.errors import InvalidDocumentError

    questions, problems = [], {}
    for path, word in ((old, "OLD"), (new, "NEW")):
        try:
            questions.append(ask(path, choices))
        except InvalidDocumentError as error:
            for problem in error.problems:
                here = problem.place.startswith("option ") and problem.place[7:] in _OF_STRUCTURE
                named = f"{problem.place} ({word}, {path.name})" if here else problem.place
                # What is wrong with an option itself would be said twice.
                problems[named, problem.message] = problem._replace(place=named)
    if problems:
        raise InvalidDocumentError(tuple(problems.values()))
    return questions[0], questions[1]


def _with_same_records(before: "Question", after: "Question") -> "Question":
    """Return what is asked of the new revision, of the old records where they are the same."""
    from structures.comparison import with_same_records

    structure = with_same_records(before.structure, after.structure)
    people = {one.id: one for one in structure.people}
    items = {one.id: one for one in structure.items}
    who, what = after.situation.person, after.situation.carry
    situation = replace(
        after.situation,
        person=None if who is None else people[who.id],
        carry=None if what is None else items[what.id],
    )
    return replace(after, structure=structure, situation=situation)


_OF_STRUCTURE = frozenset({"--when", "--close", "--person", "--carry"})
"""Options whose ids one revision may have and the other not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawing:
    """Where the drawing goes and what it shows."""

    output: Path
    views: tuple[str, ...]
    around: bool


def _draw(
    before: "Question",
    after: "Question",
    elements: "Comparison",
    save: _Drawing,
) -> None:
    from routing.cli.stages import stage
    from routing.show.maps.before_after import Revision, draw_before_after
    from routing.show.sheets.inputs import MapFacts
    from routing.show.sheets.saving import save_figure

    old, new = (
        Revision(
            structure=question.structure,
            facts=MapFacts(
                inputs=question.inputs,
                limits=question.situation.limits,
                when=question.situation.when,
                closed=question.situation.closed,
            ),
        )
        for question in (before, after)
    )
    with stage("drawing"):
        figure = draw_before_after(old, new, elements, views=save.views, around=save.around)
        save_figure(figure, save.output)
