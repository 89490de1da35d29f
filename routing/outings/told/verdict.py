"""The verdict on a plan in one line: clean is only what has nothing to watch either."""

from routing.outings.told.results import OutingAnswer, OutingFinding, Verdict
from structures.counting import counted

__all__ = ["verdict_line", "verdict_of"]


def verdict_of(findings: tuple[OutingFinding, ...]) -> Verdict:
    """Return the verdict that the worst weight of a plan's findings asks for."""
    weights = {one.severity for one in findings}
    if "blocks" in weights:
        return "not clean"
    return "planned, with things to watch" if "warns" in weights else "planned and clean"


def verdict_line(answer: OutingAnswer) -> str:
    """Return the verdict as a sentence, with the worst of what is to be watched.

    The texts in it may come from files.
    """
    if not answer.clean:
        blocks = sum(one.severity == "blocks" for one in answer.findings)
        return f"NOT CLEAN: {counted(blocks, 'finding')} must be mended first."
    if not (watched := answer.watched):
        return "Planned and clean within the limits given."
    return (
        f"Planned within the limits given; {counted(len(watched), 'thing')} to watch, worst: "
        f"{watched[0].message}."
    )
