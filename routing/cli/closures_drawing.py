"""The map of `gripway closures`: what the loss of each element costs."""

from routing.cli.cases import cases_text
from routing.cli.closures_answer import FAILS, ClosuresAnswer, home_scope
from routing.cli.question import Question
from routing.cli.stages import stage
from routing.cli.study_drawing import StudyDrawing
from routing.show.maps.closure_costs import closure_costs, draw_closure_costs
from routing.show.sheets.inputs import MapFacts
from routing.show.sheets.saving import save_figure

__all__ = ["draw_closures"]


def draw_closures(question: Question, answer: ClosuresAnswer, drawing: StudyDrawing) -> None:
    """Draw what single closures cost the trips of an answer; nothing without a file to draw to."""
    if drawing.output is None:
        return
    situation = question.situation
    with stage("drawing"):
        figure = draw_closure_costs(
            question.structure,
            closure_costs(answer.critical),
            views=drawing.views,
            facts=MapFacts(
                subject=_subject(question, answer),
                inputs=question.inputs,
                limits=situation.limits,
                when=situation.when,
                closed=situation.closed,
            ),
        )
        save_figure(figure, drawing.output)


def _subject(question: Question, answer: ClosuresAnswer) -> str:
    """Say what is drawn, and first what is not safe."""
    warnings = []
    cutting = sum(1 for one in answer.critical if len(one.closure) == 1 and one.cuts_off)
    if cutting:
        warnings.append(f"{cutting} SINGLE LOSSES CUT A GOAL OFF. ")
    unsafe = sum(1 for one in answer.intact if not one.safe)
    if unsafe:
        warnings.append(f"{unsafe} GOALS HAVE NO SAFE WAY WITH NOTHING LOST. ")
    late = sum(1 for one in closure_costs(answer.critical) if one.late)
    if late:
        warnings.append(f"{late} SINGLE LOSSES MAKE IT TOO LATE HOME. ")
    late = sum(1 for one in answer.intact if one.home in FAILS)
    if late:
        warnings.append(f"{late} GOALS ARE TOO LATE HOME WITH NOTHING LOST. ")
    case = cases_text((question.situation,))
    said = f"Cost of single losses to {answer.trips} trips, {answer.protocol}, {case}"
    return f"{''.join([*warnings, said])}. {home_scope(answer, short=True)}"
