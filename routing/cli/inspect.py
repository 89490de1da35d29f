"""`gripway inspect STRUCTURE`: what is legal but doubtful."""

import sys

import typer

from routing.cli.options import (
    AsJson,
    CarryOption,
    CloseOption,
    LimitsOption,
    PersonOption,
    StructureArgument,
    WhenOption,
)

__all__ = ["command"]


def command(
    structure: StructureArgument,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    carry: CarryOption = None,
    limits: LimitsOption = None,
    as_json: AsJson = False,
) -> None:
    """List what is legal but doubtful: in the data, and in what hands can reach."""
    from routing.cli.answers import InspectAnswer, head_of
    from routing.cli.loading import Choices, choose_situation, load
    from routing.cli.output import print_caution, print_heading, print_json, print_table
    from routing.cli.stages import stage
    from routing.graph.build import build_graph
    from routing.graph.reach_findings import inspect_reach
    from structures.findings import sorted_findings, worst_severity
    from structures.inspection import inspect_structure

    document = load(structure)
    situation = choose_situation(
        document.structure,
        Choices(when=when, close=close, person=person, carry=carry, limits=limits),
    )
    in_force = situation.limits
    with stage("inspecting the data"):
        found = inspect_structure(
            document.structure,
            glove_grip_m=in_force.glove_grip_m,
            tether_point_rating_n=in_force.tether_point_rating_n,
            kick_distance_m=in_force.kick_distance_m,
        )
    with stage("building the reach graph"):
        graph = build_graph(document.structure, situation)
    with stage("inspecting what hands can reach"):
        findings = sorted_findings((*found, *inspect_reach(graph)))
    blocks = worst_severity(findings) == "blocks"
    if as_json:
        print_json(
            InspectAnswer(
                **head_of(document, situation),
                grips=len(graph.grips),
                moves=len(graph.moves),
                blocks=blocks,
                findings=findings,
            )
        )
    else:
        print_heading(document, situation)
        print_table(
            ("severity", "about", "finding"),
            [
                (finding.severity, ", ".join(finding.elements), finding.message)
                for finding in findings
            ],
        )
        sys.stdout.write(
            f"{len(graph.grips)} grips, {len(graph.moves)} moves, {len(findings)} findings\n"
        )
        print_caution()
    raise typer.Exit(1 if blocks else 0)
