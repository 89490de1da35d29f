"""The options that several commands share, declared once."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated, TypeAlias

import typer

__all__ = [
    "AsJson",
    "Best",
    "BestOption",
    "CarryOption",
    "CloseOption",
    "LimitsOption",
    "OutputOption",
    "PersonOption",
    "Protocol",
    "ProtocolOption",
    "ReelOption",
    "StructureArgument",
    "WhatIfOption",
    "WhenOption",
]


class Protocol(StrEnum):
    """How people stay tethered on the way."""

    LEAPFROG = "leapfrog"
    REEL = "reel"


class Best(StrEnum):
    """What a route is to have least of."""

    SECONDS = "seconds"
    TRANSFERS = "transfers"
    EXPOSURE = "exposure"


StructureArgument: TypeAlias = Annotated[
    Path,
    typer.Argument(
        metavar="STRUCTURE", help="The structure: a TOML or JSON file.", show_default=False
    ),
]
WhenOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option("--when", metavar="CONDITION", help="A condition in force; may be repeated."),
]
CloseOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--close",
        metavar="ID",
        help="A handrail, handhold, socket or tether point out of use; may be repeated.",
    ),
]
PersonOption: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--person", metavar="NAME", help="Who moves: an id or name from the structure's people."
    ),
]
CarryOption: TypeAlias = Annotated[
    str | None, typer.Option("--carry", metavar="ITEM", help="The item that is carried.")
]
LimitsOption: TypeAlias = Annotated[
    Path | None,
    typer.Option(
        "--limits",
        metavar="FILE",
        help="A TOML or JSON file of limits that replace defaults (see `gripway schema limits`).",
    ),
]
ProtocolOption: TypeAlias = Annotated[
    Protocol,
    typer.Option(
        "--protocol",
        help="How people stay tethered: two short tethers hand over hand, or long reels.",
    ),
]
ReelOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--reel",
        metavar="LENGTH",
        help="A reel that the person has, the one hooked at the start included, with its unit: "
        "--reel 85ft --reel 55ft. With --protocol reel only. "
        "Default: two of the length in the limits.",
    ),
]
BestOption: TypeAlias = Annotated[
    Best | None,
    typer.Option(
        "--best",
        help="Have least of this, of equal routes the quickest. Default: seconds. "
        "Exposure is time inside slow-down zones.",
    ),
]
WhatIfOption: TypeAlias = Annotated[
    bool,
    typer.Option(
        "--what-if",
        help="Search again for what would save time: 10 % longer tethers, a free transfer, one "
        "more tether point.",
    ),
]
AsJson: TypeAlias = Annotated[
    bool, typer.Option("--json", help="Print the answer as JSON (see `gripway schema`).")
]
OutputOption: TypeAlias = Annotated[
    Path, typer.Option("--output", "-o", metavar="FILE", help="Where to write.")
]
