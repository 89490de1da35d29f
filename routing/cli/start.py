"""`gripway start DIR`: copy the examples out for a new user."""

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Annotated

import typer

from routing.caution import CAUTION
from structures.errors import InvalidDocumentError, Problem

__all__ = ["command", "examples_folder"]


def command(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help="A folder to make; it must not exist yet.")
    ],
) -> None:
    """Copy the example structures into a new folder and say what to try first."""
    if folder.exists():
        raise InvalidDocumentError(
            (
                Problem(
                    place=str(folder),
                    message="is there already, and nothing is overwritten",
                    remedy="name a folder that does not exist yet",
                ),
            )
        )
    folder.parent.mkdir(parents=True, exist_ok=True)
    # Copied aside and renamed, so that a copy cut short leaves no half folder.
    with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".gripway-start-") as aside:
        made = Path(aside) / "examples"
        shutil.copytree(examples_folder(), made, ignore=shutil.ignore_patterns("__pycache__"))
        made.rename(folder)
    station = folder / "station" / "station.toml"
    sys.stdout.write(
        f"Examples are in {folder}. Try:\n"
        f"  gripway inspect {station}\n"
        f"  gripway reach {station}\n"
        f"  gripway map {station} -o station.svg\n"
        f"\n{CAUTION}\n"
    )


def examples_folder() -> Path:
    """Return the folder of the examples: in the installed package, or beside it in a checkout."""
    packages = Path(__file__).resolve().parents[2]
    for folder in (packages / "routing" / "_examples", packages / "examples"):
        if folder.is_dir():
            return folder
    raise InvalidDocumentError(
        (
            Problem(
                place=str(packages),
                message="the examples are not in this installation",
                remedy="install gripway again from its source",
            ),
        )
    )
