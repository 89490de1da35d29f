"""The answer of `gripway cable`: its record, and as text for people."""

from collections.abc import Iterator
from typing import Literal

from routing.cli.answers import AnswerHead
from routing.worksites.cables.runs import CableRun, CableRuns
from structures.units import length_text

__all__ = ["CableAnswer", "cable_lines"]


class CableAnswer(AnswerHead):
    """The answer of `gripway cable`."""

    answer: Literal["cable"] = "cable"
    safe: bool
    """Whether the cable can be laid, and the routes to keep clear of are there and safe."""
    remarks: tuple[str, ...] = ()
    """On the routes asked for."""
    runs: CableRuns


def cable_lines(found: CableRuns) -> Iterator[str]:
    """Yield the answer line by line."""
    named = f"{found.cable} ({found.cable_m:.2f} m) from {found.start} to {found.goal}"
    if found.best is None:
        yield f"{named}: NO RUN."
        yield f"{found.reason}."
        return
    yield f"{named}: {'laid within the limits given' if found.safe else 'CANNOT BE LAID'}."
    yield ""
    yield from _run("Run", found.best)
    for span in found.best.spans:
        radius_m = span.bend_radius_m
        bend = "" if radius_m is None else f", bend there at most {length_text(radius_m)}"
        yield f"  {span.tail} to {span.head}: {span.length_m:.3f} m{bend}"
    for number, run in enumerate(found.others, start=1):
        yield ""
        yield from _run(f"Other way {number}", run)


def _run(word: str, run: CableRun) -> Iterator[str]:
    over = ", ".join(run.ties) or "no tie"
    spare = (
        f"{length_text(run.spare_m, 'down')} to spare"
        if run.spare_m >= 0
        else f"{length_text(-run.spare_m, 'up')} SHORT"
    )
    yield (
        f"{word} over {over}: {length_text(run.length_m, 'up')}, "
        f"{length_text(run.needed_m, 'up')} needed, {spare}"
    )
    for one in run.stowed:
        yield f"  stow {length_text(one.length_m)} of spare at {one.tie}"
    if run.reason:
        yield f"  {run.verdict}: {run.reason}"
