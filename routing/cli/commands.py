"""The table of commands. Only the module of the command that is called is imported."""

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any, Final

__all__ = ["COMMANDS", "load_command"]

COMMANDS: Final[Mapping[str, str]] = {
    "start": "Copy the example structures into a new folder and say what to try first.",
    "inspect": "List what is legal but doubtful: in the data, and in what hands can reach.",
    "graph": "Write grips and moves as node-link JSON (.json) or GraphML (.graphml).",
    "route": "Find the least-time route between two sites, with steps to paste and its margins.",
    "choices": "List what else there is between two sites: trade-offs, alternatives, a fallback.",
    "reach": "Judge every worksite in one row, worst first: way, tethers, restraint, time home.",
    "both": "Find two people's routes out, whether their lines cross, and how to avoid it.",
    "tie": "Show how one worksite's payload is tied: chain by chain, held and seated, and by whom.",
    "restraint": (
        "Try every foot-restraint setting for every body: which put hands and eyes on the work."
    ),
    "sight": "Find the grips from which a camera sees a face, and the fewest that see all of it.",
    "outing": "Work out a whole outing: every way, the clock, and where every item and tether is.",
    "pack": (
        "Write the review pack of an outing: one page with all that is looked at before signing."
    ),
    "cable": (
        "Find how a cable is laid over its ties: length needed, bends, and where spare is stowed."
    ),
    "bags": "Find where a bag or cover can be tied near a worksite, and why not elsewhere.",
    "map": "Draw the structure to scale as SVG, PNG or PDF, by the suffix of FILE.",
    "pairs": "Find the way between any two sites, both ways, for each person and load.",
    "home": (
        "Find the time home from every grip, alone and with a partner in tow, against the limit."
    ),
    "people": (
        "Tell who gets to which worksite, and from which reach on: where each one falls off."
    ),
    "compare": "Say what a new revision changes: elements, and the answers for all worksites.",
    "closures": "Take elements out of use one by one, and rank them by what it costs all routes.",
    "schema": "Print the JSON Schema (2020-12) of a document that is read or an answer given.",
}
"""Each command and its help in one line, as `gripway --help` lists them.

Command NAME is the function `command` of the module routing.cli.NAME, and the
line is the first of that function's docstring.
"""


def load_command(name: str) -> Callable[..., Any]:
    """Import the module of one command, and return the function that runs it."""
    command: Callable[..., Any] = import_module(f"routing.cli.{name}").command
    return command
