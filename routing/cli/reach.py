"""`gripway reach STRUCTURE`: what every worksite can be reached and tied from."""

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, TypeAlias

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
from routing.cli.tethers_option import TethersOption

if TYPE_CHECKING:
    from routing.cli.question import Question
    from routing.paths.tethers.kit import Outfitting
    from routing.worksites.kit_comparison import KitsCompared
    from routing.worksites.reach_table import ReachRow
    from routing.worksites.safety_chains import SafetyChain
    from routing.worksites.ties.kit import TetherKit
    from structures.errors import Problem
    from structures.model import Structure

    _Found: TypeAlias = tuple[tuple[ReachRow, ...], KitsCompared, tuple[SafetyChain, ...]]

__all__ = ["command"]


class Only(StrEnum):
    """What alone is looked at."""

    TETHER = "tether"


def command(
    structure: StructureArgument,
    kit: Annotated[
        list[str] | None,
        typer.Option(
            "--kit",
            metavar="KIT",
            help="Safety tethers to compare: reels joined by +, or leapfrog. Repeat for each kit: "
            "--kit 85ft+85ft --kit 55ft --kit leapfrog. In the place of --protocol and --reel.",
        ),
    ] = None,
    tethers: TethersOption = None,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv", metavar="FILE", help="Write the whole table, with all columns, as CSV too."
        ),
    ] = None,
    chains: Annotated[
        Path | None,
        typer.Option(
            "--chains",
            metavar="FILE",
            help="Write the safety-tether chains of every kit, a row a stay, as CSV too.",
        ),
    ] = None,
    only: Annotated[
        Only | None,
        typer.Option(
            "--only",
            help="Leave out foot restraints and the time home, which are then NOT CHECKED.",
        ),
    ] = None,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    carry: CarryOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.LEAPFROG,
    reel: ReelOption = None,
    as_json: AsJson = False,
) -> None:
    """Judge every worksite in one row, worst first: way, tethers, restraint, time home."""
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.stages import stage
    from routing.cli.tethers_option import read_tethers
    from routing.worksites.kit_comparison import compare_kits
    from routing.worksites.reach_table import reach_csv, reach_table, site_restraints
    from routing.worksites.safety_chains import chain_csv, safety_chains
    from structures.files.writer import write_file

    targets = [("--csv", csv), ("--chains", chains)]
    at_hand: list[TetherKit | None] = []

    def check(read: "Structure", problems: "list[Problem]") -> None:
        at_hand.append(read_tethers(tethers, read, problems))

    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            person=person,
            carry=carry,
            limits=limits,
            reel=reel,
            protocol=protocol.value,
            kits=kit,
            targets=[Target(name, path) for name, path in targets if path is not None],
            checks=[check],
        ),
    )
    graph = question.reach_graph()
    full = only is None
    kits = question.kits or (question.outfitting,)
    found = {one.name: safety_chains(graph, one, home=full, told=stage) for one in kits}
    compared = compare_kits(kits, found)
    used = next(one for one in kits if one.name == compared.used)
    restraints = None
    if full:
        with stage("trying foot restraints"):
            restraints = site_restraints(question.structure, question.situation)
    with stage("tying equipment tethers"):
        ways = {chain.worksite: chain for chain in found[used.name]}
        rows = reach_table(
            question.structure, graph, kit=at_hand[0], ways=ways, restraints=restraints
        )
    listed = tuple(chain for one in kits for chain in found[one.name])
    if csv is not None:
        write_file(csv, reach_csv(rows).encode())
    if chains is not None:
        write_file(chains, chain_csv(listed).encode())
    if as_json:
        _print_json(question, used, at_hand[0], (rows, compared, listed))
    else:
        files = {"the table": csv, "the table of chains": chains}
        _print_text(question, at_hand[0], (rows, compared, listed), files)
    raise typer.Exit(0 if all(row.safe for row in rows) else 1)


def _verdict(
    rows: "tuple[ReachRow, ...]",
) -> Literal["safe", "not all checked", "not safe"]:
    if any(row.failed for row in rows):
        return "not safe"
    return "not all checked" if any(row.unchecked for row in rows) else "safe"


def _print_json(
    question: "Question",
    used: "Outfitting",
    at_hand: "TetherKit | None",
    found: "_Found",
) -> None:
    from routing.cli.answers import ReachAnswer, head_of
    from routing.cli.output import print_json
    from routing.worksites.not_checked import not_checked

    rows, compared, chains = found
    print_json(
        ReachAnswer(
            **head_of(question),
            protocol=used.protocol,
            reels_m=used.reels_m or None,
            tethers=None if at_hand is None else {one.id: one.count for one in at_hand.tethers},
            safe=all(row.safe for row in rows),
            verdict=_verdict(rows),
            not_checked=tuple(not_checked(rows)),
            worksites=rows,
            compared=compared,
            chains=chains,
        )
    )


def _print_text(
    question: "Question",
    at_hand: "TetherKit | None",
    found: "_Found",
    files: dict[str, Path | None],
) -> None:
    from routing.cli.chains_text import (
        CHAIN_COLUMNS,
        chain_cells,
        kit_cells,
        kit_columns,
        kit_remarks,
    )
    from routing.cli.output import print_caution, print_heading, print_lines, written
    from routing.cli.reach_text import (
        REACH_COLUMNS,
        REACH_KEY,
        not_checked_lines,
        reach_cells,
        reach_reasons,
        reach_verdict,
    )
    from routing.cli.tables import print_table

    rows, compared, chains = found
    print_heading(question)
    if at_hand is not None:
        parts = [f"{one.count} x {one.id}" for one in at_hand.tethers]
        print_lines(f"Equipment tethers at hand: {', '.join(parts)}.", "")
    if question.kits:
        print_lines("Which kit serves which worksites:", "")
        print_table(kit_columns(compared), list(kit_cells(compared, chains)))
        print_lines("", *kit_remarks(compared), "")
    print_lines(reach_verdict(rows), "")
    print_table(REACH_COLUMNS, [reach_cells(row) for row in rows])
    if rows:
        print_lines(REACH_KEY)
    stays = list(chain_cells([chain for chain in chains if chain.kit == compared.used]))
    if stays:
        print_lines("", "Safety-tether chains from the hatch, stay by stay:", "")
        print_table(CHAIN_COLUMNS, stays)
    print_lines(*reach_reasons(rows))
    left_out = not_checked_lines(rows)
    if left_out:
        print_lines("", *left_out)
    done = [written(what, path) for what, path in files.items() if path is not None]
    if done:
        print_lines("", *done)
    print_caution()
