"""`gripway graph STRUCTURE -o FILE`: the reach graph for networkx users."""

import sys

from routing.cli.options import (
    CarryOption,
    CloseOption,
    LimitsOption,
    OutputOption,
    PersonOption,
    StructureArgument,
    WhenOption,
)

__all__ = ["command"]


def command(
    structure: StructureArgument,
    output: OutputOption,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    carry: CarryOption = None,
    limits: LimitsOption = None,
) -> None:
    """Write grips and moves as node-link JSON (.json) or GraphML (.graphml).

    Every attribute is explained in the file, so that any route can be computed
    again outside Gripway: weight `seconds`, sockets as ends only.
    """
    from routing.caution import CAUTION
    from routing.cli.loading import Choices, choose_situation, load
    from routing.cli.output import print_heading
    from routing.cli.stages import stage
    from routing.graph.build import build_graph
    from routing.graph.export import write_graph

    document = load(structure)
    situation = choose_situation(
        document.structure,
        Choices(when=when, close=close, person=person, carry=carry, limits=limits),
    )
    with stage("building the reach graph"):
        reach = build_graph(document.structure, situation)
    with stage(f"writing {output.name}"):
        write_graph(reach, output)
    print_heading(document, situation)
    sys.stdout.write(f"{len(reach.grips)} grips and {len(reach.moves)} moves are in {output}\n")
    sys.stdout.write(f"\n{CAUTION}\n")
