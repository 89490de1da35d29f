"""What may be wrong with the arguments of `gripway restraint`."""

from pathlib import Path

from routing.cli.near_ids import what_is_near
from routing.worksites.restraints.choice import bodies_of
from structures.errors import Problem
from structures.model import Structure

__all__ = ["check_body", "check_picture"]


def check_body(structure: Structure, body: str | None, problems: list[Problem]) -> None:
    """Report a body that is none of those that count."""
    known = [one.id for one in bodies_of(structure)]
    if body is not None and body not in known:
        problems.append(
            Problem(
                place="option --body",
                message=f"no body has the id {body!r}",
                remedy=what_is_near(body, known),
            )
        )


def check_picture(picture: Path | None, site: str | None, problems: list[Problem]) -> None:
    """Report a picture that is asked for without saying of what."""
    if picture is not None and site is None:
        problems.append(
            Problem(
                place="option --output",
                message="a picture shows one worksite, and none is named",
                remedy="name the worksite after the structure",
            )
        )
