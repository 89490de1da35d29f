"""The reach table: one row a worksite, worst first."""

from collections.abc import Iterable, Mapping

from routing.graph.parts import reached_elements
from routing.graph.reach_graph import ReachGraph
from routing.paths.results import Result
from routing.worksites.chains import VERDICTS, Verdict, WorksiteChain, find_chains
from routing.worksites.kit import DEFAULT_TETHER, EquipmentTether
from structures.model import Structure

__all__ = ["ReachRow", "reach_rows", "reach_table"]


class ReachRow(Result):
    """What a person at one worksite can be reached and tied from."""

    worksite: str
    name: str = ""
    seconds: float | None = None
    """Least time from the hatch, if there is a route and it was asked for."""
    verdict: Verdict
    """Of the equipment-tether chain."""
    attach: str | None = None
    """The attach point that decides, for which the rest of the row is."""
    handrail: str | None = None
    along_m: float | None = None
    tethers: int | None = None
    """How many in series."""
    length_m: float | None = None
    """The longer of the lengths needed held and seated."""
    held_m: float | None = None
    seated_m: float | None = None
    margin_m: float | None = None
    reason: str | None = None

    @classmethod
    def columns(cls) -> tuple[str, ...]:
        """Return the names of the columns, in order."""
        return tuple(cls.model_fields)

    def to_row(self) -> dict[str, str | float | int | None]:
        """Return all columns, also those without a value, for a table or CSV file."""
        return self.model_dump(mode="json")


def reach_table(
    structure: Structure,
    graph: ReachGraph,
    *,
    tether: EquipmentTether = DEFAULT_TETHER,
    seconds: Mapping[str, float] | None = None,
) -> tuple[ReachRow, ...]:
    """Make the reach table of all worksites.

    Parameters
    ----------
    structure
        The structure the graph was built from.
    graph
        Its situation gives limits, conditions and closures; chains are tied
        only to handrails that hands can get to from the hatch.
    tether
        What chains are made of.
    seconds
        Least time from the hatch by worksite id [s]; worksites without a route
        are left out of it.

    Returns
    -------
    tuple of ReachRow
        Worst verdict first, then most tethers, least margin, lowest id.

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
    chains = find_chains(structure, graph.situation, tether=tether, reached=reached_elements(graph))
    return reach_rows(structure, chains, seconds=seconds)


def reach_rows(
    structure: Structure,
    chains: Iterable[WorksiteChain],
    *,
    seconds: Mapping[str, float] | None = None,
) -> tuple[ReachRow, ...]:
    """Make rows from chains found before, worst first."""
    names = {worksite.id: worksite.name for worksite in structure.worksites}
    times = seconds or {}
    rows = [_row(chain, names[chain.worksite], times.get(chain.worksite)) for chain in chains]
    return tuple(sorted(rows, key=_rank))


def _row(chain: WorksiteChain, name: str, seconds: float | None) -> ReachRow:
    worst = chain.deciding
    if worst is None:
        return ReachRow(worksite=chain.worksite, name=name, seconds=seconds, verdict=chain.verdict)
    lengths = [length for length in (worst.held_m, worst.seated_m) if length is not None]
    return ReachRow(
        worksite=chain.worksite,
        name=name,
        seconds=seconds,
        verdict=worst.verdict,
        attach=worst.attach,
        handrail=worst.handrail,
        along_m=worst.along_m,
        tethers=worst.tethers,
        length_m=max(lengths, default=None),
        held_m=worst.held_m,
        seated_m=worst.seated_m,
        margin_m=worst.margin_m,
        reason=worst.reason,
    )


def _rank(row: ReachRow) -> tuple[int, int, float, str]:
    return (
        VERDICTS.index(row.verdict),
        -(row.tethers or 0),
        0.0 if row.margin_m is None else row.margin_m,
        row.worksite,
    )
