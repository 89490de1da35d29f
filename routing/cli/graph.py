"""`gripway graph STRUCTURE -o FILE`: the reach graph for networkx users."""

from routing.cli.options import (
    AsJson,
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
    as_json: AsJson = False,
) -> None:
    """Write grips and moves as node-link JSON (.json) or GraphML (.graphml).

    Every attribute is explained in the file, so that any route can be computed
    again outside Gripway: the weight is `seconds`, and a socket is only ever
    the first or the last node.
    """
    from routing.cli.answers import head_of
    from routing.cli.output import (
        print_caution,
        print_heading,
        print_json,
        print_lines,
        written,
    )
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.stages import stage
    from routing.cli.written_answers import GraphAnswer, written_file
    from routing.graph.export import write_graph
    from structures.counting import counted

    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            person=person,
            carry=carry,
            limits=limits,
            targets=[Target("--output", output, (".json", ".graphml"))],
        ),
    )
    graph = question.reach_graph()
    with stage(f"writing {output.name}"):
        write_graph(graph, output)
    grips, moves = len(graph.grips), len(graph.moves)
    if as_json:
        print_json(
            GraphAnswer(**head_of(question), written=written_file(output), grips=grips, moves=moves)
        )
        return
    print_heading(question)
    print_lines(
        f"{counted(grips, 'grip')}, {counted(moves, 'move')}", written("the reach graph", output)
    )
    print_caution()
