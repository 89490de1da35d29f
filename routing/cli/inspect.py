"""`gripway inspect STRUCTURE`: what is legal but doubtful."""

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
    from routing.cli.inspect_text import FINDING_COLUMNS, finding_cells, inspect_lines
    from routing.cli.output import print_caution, print_heading, print_json, print_lines
    from routing.cli.question import Choices, ask
    from routing.cli.stages import stage
    from routing.cli.tables import print_table
    from routing.graph.reach_findings import inspect_reach
    from structures.findings import sorted_findings, worst_severity
    from structures.inspection import inspect_structure

    question = ask(
        structure,
        Choices(when=when, close=close, person=person, carry=carry, limits=limits),
    )
    in_force = question.situation.limits
    with stage("inspecting the data"):
        found = inspect_structure(
            question.structure,
            glove_grip_m=in_force.glove_grip_m,
            tether_point_rating_n=in_force.tether_point_rating_n,
            kick_distance_m=in_force.kick_distance_m,
            rail_table=question.tables.get("handrails"),
        )
    graph = question.reach_graph()
    with stage("inspecting what hands can reach"):
        findings = sorted_findings((*found, *inspect_reach(graph)))
    answer = InspectAnswer(
        **head_of(question),
        grips=len(graph.grips),
        moves=len(graph.moves),
        blocks=worst_severity(findings) == "blocks",
        findings=findings,
    )
    if as_json:
        print_json(answer)
    else:
        print_heading(question)
        print_lines(*inspect_lines(question.structure, answer))
        if findings:
            print_lines("")
            print_table(FINDING_COLUMNS, [finding_cells(finding) for finding in findings])
        print_caution()
    raise typer.Exit(1 if answer.blocks else 0)
