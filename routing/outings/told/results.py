"""The answer to an outing: run sheet, steps, ledger, tethers and findings, as plain records.

Times are seconds from the start of the outing (PET). Every dimensioned key ends
in its unit; a key that does not apply is left out of the JSON.
"""

from typing import Literal, TypeAlias

from routing.outings.choosing.get_ahead_records import GetAheadChoice
from routing.outings.choosing.late_records import TimeLost
from routing.outings.choosing.order_records import OrderChoice
from routing.outings.clock.spread_records import OutingSpread
from routing.outings.lines.records import LinesCleared, LinesMeet
from routing.outings.safety.safety_records import HomeCurve, Rescue, TurnHome
from routing.paths.answers.results import (
    InputDigest,
    LimitChange,
    Protocol,
    Result,
    SiteRef,
    Stretch,
    StructureRef,
)
from routing.paths.onward import Manner
from structures.findings import Severity

__all__ = [
    "Block",
    "ItemMove",
    "Milestone",
    "OutingAnswer",
    "OutingChanges",
    "OutingFinding",
    "OutingRef",
    "OutingTotals",
    "PersonSheet",
    "RowKind",
    "RunRow",
    "StayHeld",
    "TetherChange",
    "Translation",
    "Verdict",
    "WayChange",
]

RowKind: TypeAlias = Literal["block", "way", "wait", "act", "gate"]
Verdict: TypeAlias = Literal["planned and clean", "planned, with things to watch", "not clean"]


class OutingRef(Result):
    """Which plan an answer is about."""

    name: str
    revision: str = ""


class OutingFinding(Result):
    """One thing that is wrong or doubtful in a plan, with where, when and what to do."""

    code: str
    severity: Severity
    act: str | None = None
    """The act to change."""
    person: str | None = None
    at_s: float | None = None
    """When it shows [s]."""
    elements: tuple[str, ...] = ()
    """Items and elements it is about."""
    message: str
    """The condition and what follows from it."""
    remedy: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""


class Translation(Result):
    """The way of one person to an act, by the exact router from the real place and tethers."""

    act: str
    person: str
    from_site: SiteRef
    to_site: SiteRef
    carry: str | None = None
    """The load that set reach, rate and corridor."""
    when: tuple[str, ...] = ()
    """Conditions that may be in force meanwhile; their zones are kept out of."""
    laying: bool = False
    """Whether a cable is laid along it: then it is part of the act."""
    manner: Manner = "best"
    """*retrace* and *recover* go back along the lay."""
    found: bool
    seconds: float
    """0 where none was found."""
    distance_m: float = 0.0
    hand_overs: int = 0
    transfers: int = 0
    protocol: Protocol
    least_left_m: float | None = None
    """Line left on the reel at the worst grip (reel)."""
    least_left_at: str | None = None
    handrails: tuple[Stretch, ...] = ()
    steps: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


class RunRow(Result):
    """One line of the run sheet."""

    start_s: float
    end_s: float
    kind: RowKind
    who: tuple[str, ...]
    act: str | None = None
    """Id of the act, also on the way to it and while waiting for it."""
    text: str
    from_site: SiteRef | None = None
    to_site: SiteRef | None = None
    handrails: tuple[str, ...] = ()
    transfers: int | None = None
    line_left_m: float | None = None
    turn_by_s: float | None = None
    """Latest moment to turn home, for the first one of those in it who must [s]."""
    low_s: float | None = None
    """Low, usual and high of an act whose duration is spread [s]."""
    high_s: float | None = None
    latest_start_s: float | None = None
    slack_s: float | None = None
    """How much later it may begin without making the outing longer."""
    critical: bool = False
    remarks: tuple[str, ...] = ()


class ItemMove(Result):
    """One line of the item ledger: an item changes its place when an act is done."""

    at_s: float
    item: str
    act: str | None = None
    """None for where it is at first."""
    person: str | None = None
    place: str
    """Site, item, person or holder."""
    how: str
    """In the hands, hung on the suit, stowed, set up, tied ..."""


class StayHeld(Result):
    """One safety tether of a person's stack."""

    tether_point: str
    length_m: float
    payout_m: float
    """Line out on it."""
    staged: bool = False
    """Whether it was staged there, not carried there."""


class TetherChange(Result):
    """The safety tethers of one person from this moment on, the first hooked one first."""

    at_s: float
    person: str
    act: str | None = None
    stack: tuple[StayHeld, ...]
    carried_m: tuple[float, ...]
    """Length of each reel still carried [m]."""


class Milestone(Result):
    """When a gate opens."""

    gate: str
    name: str = ""
    at_s: float
    slack_s: float
    needs: tuple[str, ...]
    """What it waits for, the last one done first."""


class Block(Result):
    """A block of the clock, and where its length is from."""

    name: str
    start_s: float
    end_s: float
    source: str


class PersonSheet(Result):
    """One person's outing in a few numbers, and all steps to paste."""

    person: str
    name: str = ""
    protocol: Protocol
    reels_m: tuple[float, ...] = ()
    busy_s: float
    moving_s: float
    waiting_s: float
    """For others and for a time, in acts that only wait, and after the last own act; none of it is
    in ``busy_s``."""
    distance_m: float
    transfers: int
    least_left_m: float | None = None
    least_left_act: str | None = None
    steps: tuple[str, ...]


class OutingTotals(Result):
    """How long the outing is, against two limits that are not the same thing."""

    total_s: float
    acts_s: float
    """Between the first block and the last one."""
    planned_s: float
    planned_left_s: float | None = None
    """Below 0: over the planned length. Not known where ways are missing."""
    consumables_s: float
    consumables_left_s: float | None = None
    acts: int
    translations: int
    ways_missing: int = 0
    """Ways that were not found: their time is not in the total, so that is too short."""


class WayChange(Result):
    """One way that is another one now, or is not there any more."""

    act: str
    person: str
    from_site: SiteRef
    to_site: SiteRef
    before_s: float | None = None
    """None where there was no way."""
    after_s: float | None = None
    """None where there is no way now."""
    before_handrails: tuple[str, ...] = ()
    after_handrails: tuple[str, ...] = ()
    transfers_before: int = 0
    transfers_after: int = 0


class OutingChanges(Result):
    """What planning again with something closed changes."""

    closed: tuple[str, ...]
    total_before_s: float
    total_after_s: float
    missing_before: int = 0
    """Ways that were not found, and that the total is without."""
    missing_after: int = 0
    ways: tuple[WayChange, ...]
    new_findings: tuple[OutingFinding, ...] = ()
    gone_findings: tuple[OutingFinding, ...] = ()


class OutingAnswer(Result):
    """A plan worked out minute by minute."""

    answer: Literal["outing"] = "outing"
    schema_version: Literal[1] = 1
    gripway: str
    structure: StructureRef
    outing: OutingRef
    inputs: tuple[InputDigest, ...] = ()
    closed: tuple[str, ...] = ()
    closed_because: dict[str, str] | None = None
    """Of what the plan does not close itself: the condition that does, and what begins that."""
    limits_changed: dict[str, LimitChange]
    verdict: Verdict
    """*planned and clean* only when no finding blocks or warns; *not clean* when one blocks."""
    totals: OutingTotals
    blocks: tuple[Block, ...]
    people: tuple[PersonSheet, ...]
    run_sheet: tuple[RunRow, ...]
    translations: tuple[Translation, ...]
    milestones: tuple[Milestone, ...] = ()
    critical_path: tuple[str, ...]
    """Acts and gates that the end waits for, in order."""
    ledger: tuple[ItemMove, ...]
    tethers: tuple[TetherChange, ...]
    home: tuple[HomeCurve, ...] = ()
    """Time home over time, one curve for each person."""
    turn_home: tuple[TurnHome, ...] = ()
    """By person and act: the latest moment to turn home."""
    rescues: tuple[Rescue, ...] | None = None
    """How one is fetched home by another, by time; while the one to be fetched is on the way, that
    is NOT LOOKED AT. None where nobody asked, or there is one person only."""
    dropped: tuple[str, ...] = ()
    """Groups under ``may_drop`` that are not done."""
    lines: tuple[LinesMeet, ...] = ()
    """Where the lines of two people cross over its time."""
    lines_cleared: LinesCleared | None = None
    """The cheapest change that clears them, where they are or were not clear."""
    get_aheads_planned: tuple[str, ...] = ()
    get_aheads_left: tuple[str, ...] = ()
    order: OrderChoice | None = None
    """The order and split of errands, where that was asked for; the rest of the answer has it."""
    get_ahead_choice: GetAheadChoice | None = None
    """How they were chosen, where that was asked for."""
    time_lost: TimeLost | None = None
    """What a loss of time breaks and what is dropped for it, where that was asked for; the rest
    of the answer is then the plan with the loss and with that dropped."""
    findings: tuple[OutingFinding, ...] = ()
    """Worst first, then by time."""
    spread: OutingSpread | None = None
    """How its times spread, where that was asked for and every way was found."""
    changes: OutingChanges | None = None
    """Against the plan as it stands, where something was closed besides."""
    caution: str

    @property
    def clean(self) -> bool:
        """Whether no finding blocks: what choices between plans go by; warnings may be left."""
        return self.verdict != "not clean"

    @property
    def watched(self) -> tuple[OutingFinding, ...]:
        """What warns, the worst first."""
        return tuple(one for one in self.findings if one.severity == "warns")
