"""`gripway start DIR`: copy the examples out for a new user."""

import shlex
import shutil
import tempfile
from pathlib import Path
from typing import Annotated

import typer

from structures.errors import InvalidDocumentError, Problem

__all__ = ["command", "examples_folder"]


def command(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help="A folder to make; it must not exist yet.")
    ],
) -> None:
    """Copy the example structures into a new folder and say what to try first."""
    from routing.cli.output import print_caution, print_lines

    if folder.exists() or folder.is_symlink():
        raise InvalidDocumentError(
            (
                Problem(
                    place=str(folder),
                    message="is there already, and nothing is overwritten",
                    remedy="name a folder that does not exist yet",
                ),
            )
        )
    _copy_examples(folder)
    station = shlex.quote(str(folder / "station" / "station.toml"))
    print_lines(
        f"The examples are in {folder}. Try:",
        f"  gripway inspect {station}",
        f"  gripway route {station} hatch W12",
        f"  gripway reach {station}",
        f"  gripway outing {shlex.quote(str(folder / 'station' / 'outing.toml'))}",
        f"  gripway map {station} -o station.svg --route hatch W12",
    )
    print_caution()


def _copy_examples(folder: Path) -> None:
    """Copy the examples aside and rename the whole, so that a copy cut short leaves nothing."""
    missing = [one for one in folder.parents if not one.exists()]
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".gripway-start-") as aside:
            made = Path(aside) / "examples"
            for source in sorted(examples_folder().rglob("*.*")):
                target = made / source.relative_to(examples_folder())
                if source.is_file() and "__pycache__" not in source.parts:
                    target.parent.mkdir(parents=True, exist_ok=True)
                    shutil.copyfile(source, target)
            made.rename(folder)
    except BaseException:
        for one in missing:
            if one.is_dir():
                one.rmdir()
        raise


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
