"""`gripway outing FILE`: a whole plan, minute by minute."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.cli.option_faults import finite
from routing.cli.options import AsJson, CloseOption
from routing.outings.clock.spread_records import MOST_SAMPLES

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from routing.cli.output_files import Target
    from routing.outings.lines.records import LinesCleared
    from routing.outings.plan_file.reader import OutingDocument
    from routing.outings.plan_file.records import Outing
    from routing.outings.told.results import OutingAnswer
    from routing.outings.translations import Ground
    from structures.errors import Problem

__all__ = ["command", "read_plan"]


def command(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="The plan: a TOML or JSON file.", show_default=False),
    ],
    close: CloseOption = None,
    get_ahead: Annotated[
        list[str] | None,
        typer.Option("--get-ahead", metavar="ID", help="A get-ahead to do too; may be repeated."),
    ] = None,
    fill: Annotated[
        bool,
        typer.Option(
            "--fill", help="Choose the get-aheads that are worth most in the time left, exactly."
        ),
    ] = False,
    arrange: Annotated[
        bool,
        typer.Option(
            "--arrange",
            help="Find the order of errands, and who does which, with the shortest outing.",
        ),
    ] = False,
    late: Annotated[
        float | None,
        typer.Option(
            "--late",
            metavar="MINUTES",
            callback=finite,
            min=0.1,
            max=600.0,
            help="Lose so many minutes: what that breaks, and what to drop for it.",
        ),
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(
            "--at", metavar="ACT", help="The act that --late takes longer; not given: the egress."
        ),
    ] = None,
    clear_lines: Annotated[
        bool,
        typer.Option(
            "--clear-lines",
            help="Change the plan at least cost so that lines do not tangle: waits, other ways.",
        ),
    ] = False,
    steps: Annotated[
        bool, typer.Option("--steps", help="Print the steps of each person too, ready to paste.")
    ] = False,
    ledger: Annotated[
        bool, typer.Option("--ledger", help="Print where every item and tether is when, too.")
    ] = False,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write the run sheet as CSV too.")
    ] = None,
    chart: Annotated[
        Path | None,
        typer.Option(
            "--chart", metavar="FILE", help="Draw the timeline too, as .svg, .png or .pdf."
        ),
    ] = None,
    spread: Annotated[
        int | None,
        typer.Option(
            "--spread",
            metavar="N",
            min=2,
            max=MOST_SAMPLES,
            help="Sample durations N times: P50 and P90, and the acts that drive the spread.",
        ),
    ] = None,
    seed: Annotated[int, typer.Option("--seed", metavar="S", min=0, help="Seed of --spread.")] = 1,
    as_json: AsJson = False,
) -> None:
    """Work out a whole outing: every way, the clock, and where every item and tether is.

    With --close it is planned again without the handrail, and what that changes
    is said first.

    What blocks (STOP, exit code 1): no way, a limit or zone broken, an item or tether not
    where it is needed, no way home alone in time, lines that tangle, with --spread a P90 past
    what the suits hold. What warns (Watch, exit code 0): no way home in time with the partner in
    tow or to fetch the partner, little reach or clearance left, lines that cross, people near each
    other. Planned and clean is only what has neither.
    """
    from routing.cli.outing_spread_text import spread_lines
    from routing.cli.outing_text import outing_text
    from routing.cli.output import print_caution, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.outings.told.run_sheet import run_sheet_csv
    from structures.files.writer import write_file

    targets = [
        *([] if csv is None else [Target("--csv", csv)]),
        *([] if chart is None else [Target("--chart", chart, (".svg", ".png", ".pdf"))]),
    ]
    losing = [] if late is None and at is None else [(late, at)]
    document = read_plan(file, targets, close or [], get_ahead or [], losing)
    sampled = None if spread is None else (spread, seed)
    asked = _Asked(
        close or [],
        get_ahead or [],
        sampled,
        (late, at),
        fill=fill,
        arrange=arrange,
        clear=clear_lines,
    )
    answer = _plan(document, asked)
    if csv is not None:
        write_file(csv, run_sheet_csv(answer.run_sheet).encode())
    if chart is not None:
        _draw(document, answer, chart)
    if as_json:
        print_json(answer)
    else:
        outing_text(answer, steps=steps, ledger=ledger)
        if spread is not None:
            print_lines("", *spread_lines(answer))
        files = (("the run sheet", csv), ("the timeline", chart))
        done = [written(what, path) for what, path in files if path is not None]
        if done:
            print_lines("", *done)
        print_caution()
    raise typer.Exit(0 if answer.clean else 1)


def read_plan(
    file: Path,
    targets: "list[Target]",
    close: list[str],
    get_aheads: list[str],
    losing: "Sequence[tuple[float | None, str | None]]" = (),
    losing_option: str = "--at",
) -> "OutingDocument":
    """Read the plan, and report all that is wrong with it and with the call together.

    Parameters
    ----------
    losing
        Minutes lost and the act at which they are, where that is asked.
    losing_option
        The option by which that act is named.
    """
    from routing.cli.near_ids import what_is_near
    from routing.cli.output_files import check_targets
    from routing.cli.stages import stage
    from routing.graph.build import CLOSABLE
    from routing.outings.plan_file.reader import read_outing
    from structures.errors import InvalidDocumentError, Problem

    problems: list[Problem] = []
    try:
        with stage(f"reading {file.name}"):
            document = read_outing(file)
    except InvalidDocumentError as error:
        check_targets(targets, [file], problems)
        raise InvalidDocumentError((*error.problems, *problems)) from None
    check_targets(targets, document.paths, problems)
    closable = [e.id for _, e in document.structure.elements() if isinstance(e, CLOSABLE)]
    known = {
        "--close": ("handrail, handhold, hatch, socket or tether point", closable, close),
        "--get-ahead": (
            "get-ahead of the plan",
            [one.id for one in document.outing.get_aheads],
            get_aheads,
        ),
    }
    problems += [
        Problem(
            place=f"option {option}",
            message=f"no {words} has the id {one!r}",
            remedy=what_is_near(one, ids),
        )
        for option, (words, ids, typed) in known.items()
        for one in typed
        if one not in ids
    ]
    for minutes, act in losing:
        problems += _wrong_loss(document, minutes, act, losing_option)
    if problems:
        raise InvalidDocumentError(tuple(problems))
    return document


def _wrong_loss(
    document: "OutingDocument", minutes: float | None, act: str | None, option: str
) -> "list[Problem]":
    from routing.cli.near_ids import what_is_near
    from structures.errors import Problem

    if minutes is None:
        message, remedy = "--at says where time is lost, but not how much", "add --late MINUTES"
    elif act is None or act in (known := [one.id for one in document.outing.acts]):
        return []
    else:
        message, remedy = f"no act has the id {act!r}", what_is_near(act, known, whose="the plan")
    return [Problem(place=f"option {option}", message=message, remedy=remedy)]


@dataclass(frozen=True)
class _Asked:
    """What is asked about a plan."""

    close: list[str]
    get_aheads: list[str]
    sampled: tuple[int, int] | None
    """Samples and seed."""
    lost: tuple[float | None, str | None]
    """Minutes lost, and the act at which they are."""
    fill: bool
    arrange: bool
    clear: bool
    """Whether to change the plan so that lines do not tangle."""


def _plan(document: "OutingDocument", asked: _Asked) -> "OutingAnswer":
    from routing.cli.stages import stage
    from routing.outings.choosing.errand_order import arrange_errands
    from routing.outings.choosing.get_aheads import choose_get_aheads
    from routing.outings.choosing.late import Late, plan_late
    from routing.outings.clock.spread import spread_of
    from routing.outings.lines.proposal import only_lines_block, with_proposal
    from routing.outings.plan import work_out
    from routing.outings.safety.rescue_watch import with_rescues
    from routing.outings.told.changes import compare_outings
    from routing.outings.told.spread_watch import with_spread
    from routing.outings.translations import Ground
    from routing.paths.answers.results import InputDigest
    from structures.errors import InvalidDocumentError, Problem

    inputs = tuple(InputDigest(name=one.name, sha256=one.sha256) for one in document.inputs)

    outing, done = document.outing, set(asked.get_aheads)
    closed = tuple(sorted(set(asked.close)))
    ground = Ground(document.structure, outing, document.limits, closed)
    choice = None
    if asked.fill:
        with stage("choosing get-aheads"):
            choice = choose_get_aheads(outing, ground, always=sorted(done), arrange=asked.arrange)
        done |= set(choice.chosen)
    order = None
    if asked.arrange:
        with stage("arranging errands"):
            outing, order = arrange_errands(outing, ground, sorted(done))

    minutes, at = asked.lost

    def planned(on: Ground) -> "OutingAnswer":
        if minutes is None:
            found = work_out(outing, on, get_aheads=sorted(done), inputs=inputs)
        else:
            late = Late(seconds=60.0 * minutes, act=at)
            found = plan_late(outing, on, late, get_aheads=sorted(done), inputs=inputs)
        answer = with_rescues(found.answer, found.schedule, on, found.stock)
        if asked.sampled is None:
            return answer
        return with_spread(answer, spread_of(found.schedule, *asked.sampled))

    spare = {act.id: act.spare for act in outing.acts}
    if at is not None and spare[at] is not None and spare[at] not in done:
        raise InvalidDocumentError(
            (
                Problem(
                    place="option --at",
                    message=f"{at} is part of the get-ahead {spare[at]}, which is not planned",
                    remedy=f"add --get-ahead {spare[at]}, or name an act that is planned",
                ),
            )
        )
    with stage("planning the outing"):
        answer = planned(ground)
    if asked.clear or (minutes is None and only_lines_block(answer)):
        outing, cleared = _clear_lines(outing, ground, done, change=asked.clear)
        if cleared is not None:
            answer = with_proposal(planned(ground) if cleared.applied else answer, cleared)
    if closed:
        with stage("planning it again with nothing closed, to compare"):
            before = planned(Ground(document.structure, outing, document.limits))
        answer = replace(answer, changes=compare_outings(before, answer))
    return replace(answer, get_ahead_choice=choice, order=order)


def _clear_lines(
    outing: "Outing", ground: "Ground", get_aheads: "Collection[str]", *, change: bool
) -> "tuple[Outing, LinesCleared | None]":
    """Return the plan, changed if that is asked for and helps, and what the search found."""
    from routing.cli.stages import stage
    from routing.outings.lines.clear_lines import clear_lines, with_edits
    from routing.outings.plan import work_out

    with stage("looking for the cheapest way to clear the lines"):
        cleared = clear_lines(work_out(outing, ground, get_aheads=sorted(get_aheads)))
    if cleared is None or not (change and cleared.found):
        return outing, cleared
    return with_edits(outing, cleared.edits), replace(cleared, applied=True)


def _draw(document: "OutingDocument", answer: "OutingAnswer", chart: Path) -> None:
    from routing.cli.stages import stage
    from routing.show.charts.timeline import draw_timeline
    from routing.show.charts.timeline_inputs import timeline_of
    from routing.show.sheets.saving import save_figure

    with stage("drawing the timeline"):
        save_figure(draw_timeline(timeline_of(document.outing, answer)), chart)
