"""The equipment tethers of `--tethers ID=COUNT`: which of the structure's kinds, and how many."""

import re
from collections.abc import Sequence
from typing import Annotated, Final, TypeAlias

import typer

from routing.cli.near_ids import what_is_near
from routing.worksites.ties.kit import TetherKit, kit_of
from structures.errors import Problem
from structures.model import Structure

__all__ = ["TethersOption", "read_tethers"]

TethersOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--tethers",
        metavar="ID=COUNT",
        help="An equipment tether that is at hand and how many of it; may be repeated. Those not "
        "named are left at home. Default: all that the structure lists.",
    ),
]

_GIVEN: Final = re.compile(r"(?P<id>[^\s@=]+)=(?P<count>[0-9]{1,4})", re.ASCII)


def read_tethers(
    given: Sequence[str] | None, structure: Structure, problems: list[Problem]
) -> TetherKit | None:
    """Return the kit that the options name: None without any, for the structure's own.

    Parameters
    ----------
    given
        As typed.
    structure
        Whose kinds may be named.
    problems
        Where what is wrong is added.
    """
    if not given:
        return None
    kinds = {tether.id: tether for tether in kit_of(structure).tethers}
    picked: dict[str, int] = {}
    for text in given:
        found = _GIVEN.fullmatch(text)
        if found is None:
            problems.append(
                _problem(f"{text!r} is not ID=COUNT", "give for instance ETE01=2, once a kind")
            )
        elif found["id"] not in kinds:
            problems.append(
                _problem(
                    f"no equipment tether has the id {found['id']!r}",
                    what_is_near(found["id"], list(kinds)),
                )
            )
        elif found["id"] in picked:
            problems.append(_problem(f"{found['id']!r} is given twice", "give each kind once"))
        else:
            picked[found["id"]] = int(found["count"])
    if not picked:
        return None
    return TetherKit.of(
        kinds[one].model_copy(update={"count": count}) for one, count in picked.items()
    )


def _problem(message: str, remedy: str) -> Problem:
    return Problem(place="option --tethers", message=message, remedy=remedy)
