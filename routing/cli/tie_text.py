"""The answer of `gripway tie`: its record, and as text for people."""

from collections.abc import Iterator, Sequence
from typing import Literal

from routing.cli.answers import NO_TIME_HOME, AnswerHead
from routing.paths.answers.results import Protocol
from routing.worksites.ties.details import HeldByTwo, TiedChain, TieDetails
from routing.worksites.ties.records import AttachChain, ChainPart
from structures.units import length_text, number_text

__all__ = ["TieAnswer", "tie_lines"]


class TieAnswer(AnswerHead):
    """The answer of `gripway tie`."""

    answer: Literal["tie"] = "tie"
    protocol: Protocol
    reels_m: tuple[float, ...] | None = None
    """Length of each reel of the kit, where the protocol is that of reels [m]."""
    safe: bool
    """Whether everything there is to tie can be tied at once, by somebody who gets there on a safe
    tethered way. The time home is not looked at."""
    tie: TieDetails


def tie_lines(found: TieDetails) -> Iterator[str]:
    """Yield the answer line by line."""
    named = f"{found.worksite} {found.name}".rstrip()
    if found.verdict == "nothing to tie":
        yield f"{named}: nothing to tie; the worksite has no attach points."
        return
    if found.verdict != "ok":
        yield f"{named}: NOT TIED ({found.verdict})."
    elif found.safe:
        yield f"{named}: tied within the limits given{_drifting(found)}."
    else:
        codes = ", ".join(one.code for one in found.findings if one.severity == "blocks")
        yield f"{named}: NOT SAFE ({codes}): the lines would do{_drifting(found)}."
    yield NO_TIME_HOME
    if found.answer.reason:
        yield f"All at once: {found.answer.reason}."
        yield "Each alone could have:"
    lines = {chain.attach: chain for chain in found.chains}
    for attach in found.answer.attach:
        yield ""
        yield from _attach(attach, lines.get(attach.attach))
    if found.passed_over:
        yield ""
        yield "Tried before:"
        for one in found.passed_over:
            yield f"  {one.attach}: {_made(one.chain)}: {one.reason}"
    yield from _two(found.by_two, found.by_two_reason)
    if found.findings:
        yield ""
        yield "To look at:"
        yield from (f"  {one.severity} {one.code}: {one.message}" for one in found.findings)


def _drifting(found: TieDetails) -> str:
    return f", but it {found.drift_told}" if found.drift_told else ""


def _attach(answer: AttachChain, chain: TiedChain | None) -> Iterator[str]:
    if chain is None:
        yield f"{answer.attach}: {answer.verdict}: {answer.reason}"
        return
    yield f"{answer.attach}: {_chain(chain)}"
    yield from _positions(chain)
    if answer.margin_m is not None and answer.margin_at_most_m is not None:
        yield (
            f"  margin {length_text(answer.margin_m, 'down')}; "
            f"no place of any allowed handrail has more than "
            f"{length_text(answer.margin_at_most_m, 'up')} with as many tethers"
        )


def _made(chain: Sequence[ChainPart]) -> str:
    return " + ".join(f"{part.count} x {part.tether}" for part in chain)


def _chain(chain: TiedChain) -> str:
    made = _made(chain.chain)
    rated = "rating not known" if chain.rating_n is None else f"rated {chain.rating_n:.0f} N"
    return (
        f"{made} in series from {chain.handrail} at {chain.along_m:.2f} m, spans "
        f"{length_text(chain.cinched_m, 'up')} to {length_text(chain.extended_m, 'down')}, {rated}"
    )


def _positions(chain: TiedChain) -> Iterator[str]:
    for word, line in (("held", chain.held), ("seated", chain.seated)):
        bends = len(line.points_m) - 2
        way = "straight" if bends == 0 else "round solids"
        bound = "" if line.exact else ", upper bound"
        spare = length_text(line.margin_m, "down")
        yield f"  {word:<6} {number_text(line.length_m, 'up', 3)} m {way}{bound}, {spare} to spare"


def _two(two: HeldByTwo | None, reason: str | None) -> Iterator[str]:
    if two is None and reason is None:
        return
    yield ""
    if two is None:
        yield f"By two people from two sides: no. {reason}."
        return
    yield (
        f"By two people from two sides: pulls {two.held_deg:.0f} deg apart held, "
        f"{two.seated_deg:.0f} deg seated, margin {length_text(two.margin_m, 'down')}"
    )
    for number, chain in enumerate(two.chains, start=1):
        yield f"  EV{number} to {chain.attach}: {_chain(chain)}"
        yield from (f"  {line}" for line in _positions(chain))
