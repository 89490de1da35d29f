"""The reach table: one row a worksite, worst first."""

from collections.abc import Iterable, Mapping
from typing import Any, Final, Literal

from routing.graph.parts import reached_elements
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import HomeVerdict, Result
from routing.worksites.restraints.at_worksite import restraint_verdicts
from routing.worksites.restraints.records import (
    RESTRAINT_VERDICTS,
    RestraintVerdict,
    WorksiteRestraint,
)
from routing.worksites.safety_chains import SafetyChain
from routing.worksites.ties.chains import find_chains
from routing.worksites.ties.kit import TetherKit
from routing.worksites.ties.records import VERDICTS, Verdict, WorksiteChain
from structures.files.tables import table_text
from structures.model import Structure

__all__ = ["ReachRow", "reach_csv", "reach_rows", "reach_table", "site_restraints"]


class ReachRow(Result):
    """What a person at one worksite can be reached and tied from."""

    worksite: str
    name: str = ""
    way: Literal["safe", "unsafe", "no route", "not asked"] = "not asked"
    """Whether hands get there from the hatch under the tether rules."""
    start: str | None = None
    """The hatch it was asked from."""
    seconds: float | None = None
    """Least time from the hatch, if there is a route [s]."""
    transfers: int | None = None
    safety_kit: str | None = None
    """The safety tethers this is with."""
    stays: int | None = None
    """Tether points that hold a reel on the way; see the chains for each of them."""
    tightest_stay: str | None = None
    """The one whose reel has the least line left."""
    line_used_m: float | None = None
    """Most line out on that reel."""
    line_reserve_m: float | None = None
    line_margin_m: float | None = None
    """Line left on it above the reserve."""
    line_short_m: float | None = None
    """With so much more line on every reel there would be a way."""
    way_reason: str | None = None
    """Why there is no safe way."""
    tie: Verdict
    """Whether the payload can be tied: the verdict on the equipment-tether chain."""
    attach: str | None = None
    """The attach point that decides, for which the rest of the row is."""
    handrail: str | None = None
    along_m: float | None = None
    tethers: int | None = None
    """How many in series."""
    chain: str | None = None
    """What the chain is made of: ``1 x ET1 + 2 x ET2``."""
    length_m: float | None = None
    """The longer of the lengths needed held and seated."""
    held_m: float | None = None
    seated_m: float | None = None
    margin_m: float | None = None
    lines: int | None = None
    """How many chains the payload is tied by; one alone lets it drift toward its handrail."""
    drifts: str | None = None
    """Where all lines of a tied payload pull to one side, so that it may drift: held, seated."""
    reason: str | None = None
    """Why the payload cannot be tied."""
    restraint: RestraintVerdict | Literal["not checked"] = "not checked"
    """Whether a foot restraint in the worksite's socket puts the hands where the work is."""
    restraint_margin_m: float | None = None
    restraint_reason: str | None = None
    restraint_remark: str | None = None
    """What else is to be said of it: built-in data used, what must not be kicked near the boots."""
    home: HomeVerdict = "not checked"
    """Whether home is near enough by time from every hold of the way."""
    home_s: float | None = None
    """The longest time home from a hold of the way [s]."""
    home_reason: str | None = None

    @property
    def failed(self) -> bool:
        """Whether something that was looked at is not safe."""
        return not (
            self.way in {"safe", "not asked"}
            and self.tie in {"ok", "nothing to tie"}
            and self.restraint not in _FAILED_RESTRAINTS
            and self.home in {"in time", "not checked"}
        )

    @property
    def safe(self) -> bool:
        """Whether nothing that was asked about this worksite failed or is unknown.

        What the caller left out (*not checked*) was not asked; a restraint *not asked* was.
        """
        return not self.failed and self.restraint != "not asked"

    @property
    def tie_told(self) -> str:
        """The verdict on the tie, with the warning that the payload may drift."""
        if self.drifts is None:
            return self.tie
        return f"{self.tie}, {'one line' if self.lines == 1 else 'DRIFTS'}"

    @property
    def drift_remark(self) -> str | None:
        """What the warning in `tie_told` means, if there is one."""
        if self.drifts is None:
            return None
        if self.lines == 1:
            return f"{self.drifts}: tied by one line, so the payload can swing and drift"
        return f"{self.drifts}: all lines pull to one side, so the payload can drift"

    @property
    def unchecked(self) -> tuple[str, ...]:
        """What was not checked about this worksite: that may be safe or not."""
        open_words = {"not checked", "not asked"}
        return tuple(name for name in ("restraint", "home") if getattr(self, name) in open_words)

    @classmethod
    def columns(cls) -> tuple[str, ...]:
        """Return the names of the columns, in order."""
        return cls.field_names()


def reach_table(
    structure: Structure,
    graph: ReachGraph,
    *,
    kit: TetherKit | None = None,
    ways: Mapping[str, SafetyChain] | None = None,
    restraints: Mapping[str, WorksiteRestraint] | None = None,
) -> tuple[ReachRow, ...]:
    """Make the reach table of all worksites.

    Parameters
    ----------
    structure
        The structure the graph was built from.
    graph
        Its situation gives limits, conditions and closures; chains are tied
        only to handrails that hands can get to from the hatch.
    kit
        What chains are made of, as in `routing.worksites.ties.chains.find_chains`.
    ways
        The safety-tether chain by worksite id (`safety_chains`); by default the
        ways are not asked about.
    restraints
        The verdict on foot restraints by worksite id (`site_restraints`).

    Returns
    -------
    tuple of ReachRow
        Worksites without a safe way first, then worst tie, most tethers, least margin, lowest id.

    Raises
    ------
    ValueError
        The graph is of another structure.
    """
    if graph.structure != structure:
        raise ValueError(
            f"the graph is of structure {graph.structure.name!r} revision "
            f"{graph.structure.revision!r}, not of this one; build it anew"
        )
    chains = find_chains(structure, graph.situation, kit=kit, reached=reached_elements(graph))
    return reach_rows(structure, chains, ways=ways, restraints=restraints)


def site_restraints(structure: Structure, situation: Situation) -> dict[str, WorksiteRestraint]:
    """Return the verdict on foot restraints for each worksite, by id.

    Where the structure lists no restraints or bodies the built-in ones count, as in
    `routing.worksites.restraints.at_worksite.restraint_reach`; a finding of each verdict says so.
    """
    return restraint_verdicts(structure, structure.worksites, situation)


def reach_rows(
    structure: Structure,
    chains: Iterable[WorksiteChain],
    *,
    ways: Mapping[str, SafetyChain] | None = None,
    restraints: Mapping[str, WorksiteRestraint] | None = None,
) -> tuple[ReachRow, ...]:
    """Make rows from chains found before, worst first.

    Parameters
    ----------
    structure
        For the names of the worksites.
    chains
        Of equipment tethers, one for each worksite that is to have a row.
    ways, restraints
        By worksite; a row says *not asked* of what is not given.
    """
    names = {worksite.id: worksite.name for worksite in structure.worksites}
    rows = [
        ReachRow(
            worksite=chain.worksite,
            name=names[chain.worksite],
            **({} if ways is None else _way(ways[chain.worksite])),
            **_tie(chain),
            **_restraint((restraints or {}).get(chain.worksite)),
        )
        for chain in chains
    ]
    return tuple(sorted(rows, key=_rank))


def reach_csv(rows: Iterable[ReachRow]) -> str:
    """Return the table as CSV text; see `structures.files.tables` for texts in it."""
    columns = ReachRow.columns()
    return table_text(columns, [[row.to_row()[column] for column in columns] for row in rows])


def _way(chain: SafetyChain) -> dict[str, Any]:
    tightest = chain.tightest
    way: dict[str, Any] = {
        "way": chain.way,
        "start": chain.start,
        "seconds": chain.seconds,
        "transfers": chain.transfers,
        "safety_kit": chain.kit,
        "line_short_m": None if chain.shortfall is None else chain.shortfall.line_short_m,
        "way_reason": chain.reason,
        "home": chain.home,
        "home_s": chain.home_s,
        "home_reason": chain.home_reason,
    }
    if tightest is not None:
        way |= {
            "stays": len(chain.stays),
            "tightest_stay": tightest.tether_point,
            "line_used_m": tightest.used_m,
            "line_reserve_m": tightest.reserve_m,
            "line_margin_m": tightest.margin_m,
        }
    return way


def _tie(chain: WorksiteChain) -> dict[str, Any]:
    worst = chain.deciding
    if worst is None:
        return {"tie": chain.verdict}
    lengths = [length for length in (worst.held_m, worst.seated_m) if length is not None]
    return {
        "tie": chain.verdict,
        "attach": worst.attach,
        "handrail": worst.handrail,
        "along_m": worst.along_m,
        "tethers": worst.tethers,
        "chain": " + ".join(f"{part.count} x {part.tether}" for part in worst.chain) or None,
        "length_m": max(lengths, default=None),
        "held_m": worst.held_m,
        "seated_m": worst.seated_m,
        "margin_m": worst.margin_m,
        "lines": len(chain.attach) if chain.verdict == "ok" else None,
        "drifts": " and ".join(chain.drifts) or None,
        "reason": chain.reason or worst.reason,
    }


def _restraint(found: WorksiteRestraint | None) -> dict[str, Any]:
    if found is None:
        return {}
    return {
        "restraint": found.verdict,
        "restraint_margin_m": found.margin_m,
        "restraint_reason": found.reason,
        "restraint_remark": _remark(found),
    }


def _remark(found: WorksiteRestraint) -> str | None:
    """Return what is to be said of a verdict for which settings were tried."""
    if found.verdict in {"not asked", "none planned", "nothing to reach"}:
        return None
    return "; ".join(finding.message for finding in found.findings) or None


_HOMES: Final = ("not known", "too late", "not checked", "in time")
_FAILED_RESTRAINTS: Final = RESTRAINT_VERDICTS[: RESTRAINT_VERDICTS.index("not asked")]
_WAYS: Final = ("no route", "unsafe", "not asked", "safe")


def _rank(row: ReachRow) -> tuple[int, int, int, int, int, int, float, str]:
    restraint = [verdict == row.restraint for verdict in _FAILED_RESTRAINTS]
    return (
        _WAYS.index(row.way),
        _HOMES.index(row.home),
        VERDICTS.index(row.tie) if row.tie in {"unknown", "no chain"} else len(VERDICTS),
        restraint.index(True) if any(restraint) else len(restraint),
        VERDICTS.index(row.tie),
        -(row.tethers or 0),
        0.0 if row.margin_m is None else row.margin_m,
        row.worksite,
    )
