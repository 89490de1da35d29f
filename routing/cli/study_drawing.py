"""The options of studies that can be drawn: where to, and in which views."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeAlias

import typer

from structures.errors import Problem

if TYPE_CHECKING:
    from routing.cli.output_files import Target

__all__ = ["StudyDrawing", "ViewsOption"]

ViewsOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--view",
        metavar="VIEW",
        help="View of the drawing: plan, port, starboard, zenith, nadir, forward or aft; "
        "may be repeated. Default: plan and nadir.",
    ),
]


@dataclass(frozen=True, slots=True)
class StudyDrawing:
    """What the options say."""

    output: Path | None
    asked: Sequence[str] | None

    @property
    def views(self) -> tuple[str, ...]:
        """The views, or the default."""
        return tuple(self.asked or ("plan", "nadir"))

    def targets(self) -> "list[Target]":
        """Return the file that is to be written, for `Choices.targets`."""
        from routing.cli.output_files import Target
        from routing.show.maps.from_route import DRAWN_SUFFIXES

        return [] if self.output is None else [Target("--output", self.output, DRAWN_SUFFIXES)]

    def problems(self) -> list[Problem]:
        """Return what is wrong with them, before anything is computed."""
        from routing.cli.drawing_options import drawing_problems

        problems = drawing_problems(self.views)
        if self.asked and self.output is None:
            problems.append(
                Problem(
                    place="option --view",
                    message="nothing is drawn",
                    remedy="say where to: -o FILE.svg",
                )
            )
        return problems
