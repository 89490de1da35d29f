"""What finds no room on a map, as records and as text: the count of its header, with the texts."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from routing.cli.written_answers import LeftOut
from structures.counting import counted

if TYPE_CHECKING:
    from routing.show.maps.maps import MapSheet

__all__ = ["left_out_lines", "left_out_of"]


def left_out_of(sheet: "MapSheet") -> tuple[LeftOut, ...]:
    """Return what found no room on a sheet, view by view."""
    from routing.show.maps.drawing import texts_left_out

    return tuple(
        LeftOut(view=panel.name, what=what, texts=texts)
        for panel in sheet.panels
        for what, texts in texts_left_out(panel.left_out).items()
    )


def left_out_lines(left_out: Iterable[LeftOut]) -> Iterator[str]:
    """Yield a line for each view and kind of label, then what to do about it."""
    said = [
        f"  {one.view}: {counted(len(one.texts), one.what)}: {'; '.join(one.texts)}"
        for one in left_out
    ]
    if said:
        yield "NOT SHOWN, for want of room:"
        yield from said
        yield "  A larger --sheet, fewer views, or a part (--around, --near) has more room."
