"""`gripway pack PLAN -o FILE.html`: an outing as one page for reviewers."""

from math import isfinite, nan
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.cli.options import AsJson, CloseOption, OutputOption

if TYPE_CHECKING:
    from routing.outings.choosing.late_records import TimeLost
    from routing.outings.plan import PlannedOuting
    from routing.outings.plan_file.reader import OutingDocument
    from routing.outings.told.results import OutingAnswer
    from routing.show.pack.material import PackMaterial

__all__ = ["command"]


def command(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", help="The plan: a TOML or JSON file.", show_default=False),
    ],
    output: OutputOption,
    close: CloseOption = None,
    get_ahead: Annotated[
        list[str] | None,
        typer.Option("--get-ahead", metavar="ID", help="A get-ahead to do too; may be repeated."),
    ] = None,
    sites: Annotated[
        bool, typer.Option("--sites/--no-sites", help="Judge the worksites of the outing too.")
    ] = True,
    closures: Annotated[
        bool,
        typer.Option("--closures/--no-closures", help="Close every handrail in use, one by one."),
    ] = True,
    late: Annotated[
        list[str] | None,
        typer.Option(
            "--late",
            metavar="MINUTES@ACT",
            help="Say what to drop when so much is lost at an act (without @ACT: before the "
            "first); may be repeated.",
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Write the review pack of an outing: one page with all that is looked at before signing."""
    from dataclasses import replace

    from routing.cli.outing import read_plan
    from routing.cli.output import print_caution, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.cli.pack_answer import pack_answer
    from routing.cli.stages import stage
    from routing.show.pack.material import unsafe_sites
    from routing.show.pack.page import review_pack
    from structures.files.writer import write_file
    from structures.versions import revision_text

    closed, get_aheads = sorted(set(close or [])), sorted(set(get_ahead or []))
    losses = [_loss(text) for text in dict.fromkeys(late or [])]
    document = read_plan(
        file,
        [Target("--output", output, (".html", ".htm"))],
        closed,
        get_aheads,
        losing=losses,
        losing_option="--late",
    )
    found = _losses(document, closed, get_aheads, losses)
    planned = _worked_out(document, closed, get_aheads)
    material = replace(_material(planned, document, sites=sites, closures=closures), losses=found)
    with stage("drawing and writing the pack"):
        write_file(output, review_pack(material).encode())
    answer = planned.answer
    unsafe = unsafe_sites(material)
    if as_json:
        print_json(pack_answer(material, output))
    else:
        print_lines(
            f"{answer.outing.name}, {revision_text(answer.outing.revision)}, on "
            f"{answer.structure.name}, {revision_text(answer.structure.revision)}",
            *_verdict(answer, unsafe),
            written("the review pack", output),
        )
        print_caution()
    raise typer.Exit(0 if answer.clean and not unsafe else 1)


def _verdict(answer: "OutingAnswer", unsafe: tuple[str, ...]) -> list[str]:
    from routing.outings.told.verdict import verdict_line

    if not unsafe:
        return [verdict_line(answer)]
    sites = f"NOT SAFE or not known at {', '.join(unsafe)}: see the pack's site table."
    # A plan with nothing to mend or watch is not called clean where a worksite is not safe.
    return [sites] if answer.verdict == "planned and clean" else [verdict_line(answer), sites]


def _worked_out(
    document: "OutingDocument", closed: list[str], get_aheads: list[str]
) -> "PlannedOuting":
    from dataclasses import replace

    from routing.cli.stages import stage
    from routing.outings.clock.spread import spread_of
    from routing.outings.plan import work_out
    from routing.outings.safety.rescue_watch import with_rescues
    from routing.outings.told.spread_watch import with_spread
    from routing.outings.translations import Ground
    from routing.paths.answers.results import InputDigest
    from routing.show.pack.material import SPREAD_SAMPLES, SPREAD_SEED

    with stage("planning the outing"):
        ground = Ground(document.structure, document.outing, document.limits, tuple(closed))
        planned = work_out(
            document.outing,
            ground,
            get_aheads=get_aheads,
            inputs=tuple(InputDigest(name=one.name, sha256=one.sha256) for one in document.inputs),
        )
        spread = spread_of(planned.schedule, SPREAD_SAMPLES, SPREAD_SEED)
        answer = with_rescues(planned.answer, planned.schedule, ground, planned.stock)
        return replace(planned, answer=with_spread(answer, spread))


def _material(
    planned: "PlannedOuting", document: "OutingDocument", *, sites: bool, closures: bool
) -> "PackMaterial":
    from routing.cli.stages import stage
    from routing.show.pack.material import PackMaterial
    from routing.studies.outing_closures import outing_closures
    from routing.studies.outing_sites import outing_sites

    judged = lost = None
    if sites:
        with stage("judging the worksites"):
            judged = outing_sites(planned)
    if closures:
        with stage("closing handrails one by one"):
            lost = outing_closures(planned)
    return PackMaterial(planned=planned, limits=document.limits, sites=judged, closures=lost)


def _loss(text: str) -> tuple[float | None, str | None]:
    """Return minutes and act of a loss of time, as it was typed."""
    typed, at, act = text.partition("@")
    try:
        minutes = float(typed)
    except ValueError:
        minutes = nan
    if not isfinite(minutes) or minutes < 0 or (at and not act):
        raise typer.BadParameter(
            f"{text!r} is no loss of time; give minutes, 0 or more, and the act that takes "
            "longer, for instance 10@unbolt",
            param_hint="--late",
        )
    return minutes, act or None


def _losses(
    document: "OutingDocument",
    closed: list[str],
    get_aheads: list[str],
    losses: list[tuple[float | None, str | None]],
) -> "tuple[TimeLost, ...]":
    from routing.cli.stages import stage
    from routing.outings.choosing.late import Late, plan_late
    from routing.outings.translations import Ground

    found: list[TimeLost] = []
    for minutes, act in losses:
        with stage(f"looking for what to drop when {minutes:g} min are lost"):
            late = Late(seconds=60.0 * (minutes or 0.0), act=act)
            ground = Ground(document.structure, document.outing, document.limits, tuple(closed))
            answer = plan_late(document.outing, ground, late, get_aheads=get_aheads).answer
        if answer.time_lost is not None:
            found.append(answer.time_lost)
    return tuple(found)
