"""The JSON answer of `gripway pack`: what is in the pack, its digest, and the verdict."""

from pathlib import Path
from typing import Literal

from routing.cli.written_answers import WrittenFile, written_file
from routing.outings.choosing.late_records import TimeLost
from routing.outings.told.results import OutingFinding, OutingRef, Verdict
from routing.paths.answers.results import InputDigest, LimitChange, Result, StructureRef
from routing.show.pack.material import PackMaterial, unsafe_sites, ways_of

__all__ = ["PackAnswer", "pack_answer"]


class PackAnswer(Result):
    """The answer of `gripway pack`."""

    answer: Literal["pack"] = "pack"
    schema_version: Literal[1] = 1
    gripway: str
    structure: StructureRef
    outing: OutingRef
    inputs: tuple[InputDigest, ...] = ()
    closed: tuple[str, ...] = ()
    limits_changed: dict[str, LimitChange]
    verdict: Verdict
    written: WrittenFile
    ways: int
    sites_checked: bool
    """Whether the site table is in it."""
    sites_unsafe: tuple[str, ...] = ()
    """Worksites that the site table does not find safe; whoever looks for a verdict needs both."""
    closures_checked: bool
    """Whether what single handrails cost is in it."""
    losses: tuple[TimeLost, ...] = ()
    """What becomes of the plan when time is lost, for each loss that was asked about."""
    findings: tuple[OutingFinding, ...] = ()
    caution: str


def pack_answer(material: PackMaterial, path: Path) -> PackAnswer:
    """Return what a pack that was just written is about."""
    answer = material.planned.answer
    return PackAnswer(
        gripway=answer.gripway,
        structure=answer.structure,
        outing=answer.outing,
        inputs=answer.inputs,
        closed=answer.closed,
        limits_changed=answer.limits_changed,
        verdict=answer.verdict,
        written=written_file(path),
        ways=len(ways_of(material.planned)),
        sites_checked=material.sites is not None,
        sites_unsafe=unsafe_sites(material),
        closures_checked=material.closures is not None,
        losses=material.losses,
        findings=answer.findings,
        caution=answer.caution,
    )
