"""Figures to files: the same figure gives the same bytes, and a file is whole or not there."""

import io
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from routing.show.sheets.inputs import DrawingError
from structures.files.writer import open_whole

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["FORMATS", "check_format", "save_figure", "svg_text"]

# No dates and no program versions: they would make two runs differ.
_METADATA: Final[dict[str, dict[str, str | None]]] = {
    "svg": {"Date": None, "Creator": "gripway"},
    "png": {"Software": None},
    "pdf": {"CreationDate": None, "ModDate": None, "Creator": "gripway", "Producer": None},
}
FORMATS: Final = tuple(sorted(_METADATA))

# Text stays text in SVG: it can be searched, copied and read aloud. Its font is named, and is
# wider than what viewers take in its place, so labels do not collide elsewhere either.
_SETTINGS: Final[dict[Any, Any]] = {
    "svg.hashsalt": "gripway",
    "svg.fonttype": "none",
    "pdf.fonttype": 42,
    "path.simplify": False,
    "savefig.bbox": None,
    "savefig.transparent": False,
}

PNG_DOTS_PER_IN: Final = 160


def check_format(path: Path) -> str:
    """Return the format that a path asks for, without the dot.

    Raises
    ------
    DrawingError
        The suffix is none of .svg, .png and .pdf.
    """
    kind = path.suffix.lower().removeprefix(".")
    if kind not in _METADATA:
        raise DrawingError(
            f"{path.name!r} does not end in a format that drawings are written in; "
            f"end it in {', '.join('.' + one for one in FORMATS)}"
        )
    return kind


def save_figure(figure: "Figure", path: Path) -> None:
    """Write a figure as SVG, PNG or PDF, by the suffix of the path.

    Parameters
    ----------
    figure
        Any matplotlib figure; it is not changed.
    path
        Where to; a file that is there already is replaced once the new one is whole.

    Raises
    ------
    DrawingError
        The suffix is none of .svg, .png and .pdf.
    OSError
        The folder cannot be written to.
    """
    from matplotlib import rc_context

    kind = check_format(path)
    with open_whole(path) as stream, rc_context(_SETTINGS):
        figure.savefig(stream, format=kind, dpi=PNG_DOTS_PER_IN, metadata=_METADATA[kind])


def svg_text(figure: "Figure") -> str:
    """Return a figure as SVG, the same text as in a file."""
    from matplotlib import rc_context

    stream = io.BytesIO()
    with rc_context(_SETTINGS):
        figure.savefig(stream, format="svg", metadata=_METADATA["svg"])
    return stream.getvalue().decode()
