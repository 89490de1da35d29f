"""The verdict on a plan in one line: clean is only what has nothing to watch either."""

from collections import Counter
from collections.abc import Sequence
from math import ceil
from typing import Final

from routing.outings.told.results import OutingAnswer, OutingFinding, Verdict
from structures.counting import counted

__all__ = ["verdict_line", "verdict_of"]

_GRAVE: Final = {
    "no-way-home-in-tow": "no way home with the partner in tow for",
    "home-too-late-in-tow": "home too late with the partner in tow, after up to",
    "no-rescue": "no way to fetch the partner home for",
    "rescue-not-shown": "not shown how the partner is fetched home for",
    "rescue-too-late": "the partner fetched home too late, after up to",
    "p90-over-planned-length": "P90 beyond the planned length by",
}
"""What a reader of the verdict must not miss, the worst first; each has minutes as its value."""
_ROUNDING: Final = 1e-6
"""Less than this is rounding of sums [min]."""


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
    grave = [_in_minutes(code, watched) for code in _GRAVE if any(w.code == code for w in watched)]
    others = Counter(one.code for one in watched if one.code not in _GRAVE)
    rest = ", ".join(f"{code} ({n})" if n > 1 else code for code, n in others.items())
    also = [f"also {rest}" if grave else rest] if rest else []
    return (
        f"Planned within the limits given; {counted(len(watched), 'thing')} to WATCH: "
        f"{'; '.join((*grave, *also))}."
    )


def _in_minutes(code: str, watched: Sequence[OutingFinding]) -> str:
    """Return what is grave in a few words, with the minutes of each person."""
    said = [
        f"{'' if one.value is None else f'{ceil(one.value - _ROUNDING)} min'}"
        f"{'' if one.person is None else f' ({one.person})'}".strip()
        for one in watched
        if one.code == code
    ]
    return f"{_GRAVE[code]} {', '.join(said)}"
