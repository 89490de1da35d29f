"""Safety-tether chains and kits side by side as text for people."""

from collections.abc import Iterator, Sequence
from typing import Final

from routing.cli.tables import Column
from routing.worksites.kit_comparison import KitsCompared
from routing.worksites.safety_chains import SafetyChain
from structures.counting import counted
from structures.units import length_text, number_text

__all__ = ["CHAIN_COLUMNS", "chain_cells", "kit_cells", "kit_columns", "kit_remarks"]

CHAIN_COLUMNS: Final = (
    Column("worksite"),
    Column("hatch s", number=True),
    Column("transfers", number=True),
    Column("stay"),
    Column("tether m", number=True),
    Column("used m", number=True),
    Column("reserve m", number=True),
    Column("margin m", number=True),
    Column("most line out at"),
)


def chain_cells(chains: Sequence[SafetyChain]) -> Iterator[tuple[str, ...]]:
    """Yield the rows of the chains, one a stay; what is said once stands at the first."""
    for chain in chains:
        for number, stay in enumerate(chain.stays):
            first = number == 0
            yield (
                chain.worksite if first else "",
                f"{chain.seconds or 0.0:.0f}" if first else "",
                f"{chain.transfers or 0}" if first else "",
                stay.tether_point,
                f"{stay.length_m:.2f}",
                number_text(stay.used_m, "up", 2),
                f"{stay.reserve_m:.2f}",
                number_text(stay.margin_m, "down", 2),
                stay.tightest_grip,
            )


def kit_columns(compared: KitsCompared) -> tuple[Column, ...]:
    """Return the heads of the table of kits side by side."""
    return (Column("worksite"), *(Column(kit.kit, keep=24) for kit in compared.kits))


def kit_cells(compared: KitsCompared, chains: Sequence[SafetyChain]) -> Iterator[tuple[str, ...]]:
    """Yield a row for each worksite, a cell for each kit, and a last row of the sums."""
    by_place = {(chain.worksite, chain.kit): chain for chain in chains}
    for worksite in sorted({chain.worksite for chain in chains}):
        yield (worksite, *(_cell(by_place[worksite, kit.kit]) for kit in compared.kits))
    yield (
        "serves",
        *(
            f"{kit.serves} of {kit.of}, {kit.seconds:.0f} s, {counted(kit.transfers, 'transfer')}"
            for kit in compared.kits
        ),
    )


def _cell(chain: SafetyChain) -> str:
    if chain.way == "no route":
        shortfall = chain.shortfall
        if shortfall is None:
            return "NO"
        if shortfall.line_short_m:
            return f"NO, {length_text(shortfall.line_short_m, 'up')} short"
        return f"NO, {shortfall.why}"
    parts = [f"{chain.seconds or 0.0:.0f} s", counted(chain.transfers or 0, "transfer")]
    if chain.margin_m is not None:
        parts.append(f"{length_text(chain.margin_m, 'down')} spare")
    if chain.way == "unsafe":
        parts.insert(0, "UNSAFE")
    return ", ".join(parts)


def kit_remarks(compared: KitsCompared) -> Iterator[str]:
    """Yield what the comparison comes to, in lines."""
    if compared.least is None or compared.fastest is None:
        yield "No kit serves all worksites safely."
    else:
        yield (
            f"Least kit that serves all worksites (fewest reels, then least line): {compared.least}"
        )
        yield f"Fastest kit that serves all worksites: {compared.fastest}"
    yield f"The tables below are for kit {compared.used}."
