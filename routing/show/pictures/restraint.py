"""The picture of a person in a foot restraint: body, envelopes and targets in two views.

Both views are in the person's own axes: from their left side, and looking down
on the helmet. Grey is what the structure looks like from there, all of it that
is near, not a cut; lines of sight and arms may pass in front of it or behind.
"""

from typing import TYPE_CHECKING, Any, Final

import numpy as np

from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.paths.answers.results import InputDigest
from routing.show.pictures.restraint_scene import Scene, extent_in_space, extent_on_sheet, scene_of
from routing.show.sheets.axes import blank_sheet
from routing.show.sheets.inputs import MapFacts
from routing.show.sheets.lettering import drawable, wrapped
from routing.show.sheets.style import FONT, INK, SHEETS_IN, MapStyle
from routing.show.sheets.title_block import (
    caution_height_pt,
    caution_lines,
    draw_caution,
    facts_lines,
)
from routing.show.sheets.writing import Writing, write
from routing.worksites.restraints.records import WorksiteRestraint
from routing.worksites.restraints.verdict import margin_text, setting_text, shortfall_text
from structures.elements import Target
from structures.model import Structure
from structures.solids.axes import Floats
from structures.views import View, silhouette

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["draw_restraint"]

_SHEET: Final = MapStyle(sheet_in=SHEETS_IN["A4"])
_LONGEST: Final = 400
"""Lines of the head are cut after so many characters; until then they are wrapped."""
_BODY: Final = "#0072b2"
_ARMS: Final = "#009e73"
_EYES: Final = "#cc79a7"


def draw_restraint(
    structure: Structure,
    found: WorksiteRestraint,
    situation: Situation,
    inputs: tuple[InputDigest, ...],
) -> "Figure":
    """Draw the setting that decides: the best that works, or the nearest that does not.

    Raises
    ------
    DrawingError
        No socket was tried at the worksite, so there is no setting to draw.
    """
    scene = scene_of(structure, found)
    figure: Figure
    figure, sheet = blank_sheet(_SHEET)
    caution = caution_lines(_SHEET)
    draw_caution(sheet, caution, _SHEET)
    top_pt = _head(sheet, structure, found, (situation, inputs))
    width, height = _SHEET.sheet_pt
    low_pt = caution_height_pt(caution, _SHEET) + 46.0
    side = View("side", _unit(scene.axes[:, 0]), _unit(scene.axes[:, 2]))
    above = View("above", _unit(scene.axes[:, 0]), _unit(scene.axes[:, 1]))
    wide_pt = (width - 104.0) / 2
    for i, (view, title) in enumerate(
        ((side, "from the person's right side"), (above, "looking down on the helmet"))
    ):
        place = (
            (44.0 + i * (wide_pt + 40.0)) / width,
            low_pt / height,
            wide_pt / width,
            (top_pt - 26.0 - low_pt) / height,
        )
        axes = figure.add_axes(place)
        axes.set_gid(f"restraint.{view.name}")
        _panel(axes, structure, situation, scene, view)
        axes.set_title(title, **_text(_SHEET.name_pt))
    _legend(figure, low_pt)
    return figure


def _head(
    sheet: "Axes",
    structure: Structure,
    found: WorksiteRestraint,
    asked: tuple[Situation, tuple[InputDigest, ...]],
) -> float:
    """Write what is shown; return where the panels may begin, from below [pt]."""
    situation, inputs = asked
    row = found.setting
    wide_pt = _SHEET.sheet_pt[0] - 32.0
    y = _SHEET.sheet_pt[1] - 0.9 * _SHEET.title_pt
    unsafe = "" if found.able_there else f"NOT FOR ALL ({found.verdict}): "
    if found.way == "not reached":
        unsafe = f"NO SAFE TETHERED WAY TO {found.socket}: {unsafe}"
    named = f"{found.worksite} {found.name}".rstrip()
    title = f"{unsafe}{named}: {found.body} in a foot restraint"
    for line in wrapped(drawable(title, _LONGEST), _SHEET.title_pt, wide_pt, "bold"):
        y -= 1.3 * _SHEET.title_pt
        write(sheet, (16.0, y), line, Writing(_SHEET.title_pt, weight="bold"))
    said = ""
    if row is not None:
        works = row.margin_m is not None and found.body in found.able
        said = margin_text(row) if works else f"DOES NOT WORK: {shortfall_text(row)}"
        said = f"socket {found.socket}, restraint {found.restraint}, {setting_text(row)}; {said}"
    facts = MapFacts(
        subject=f"foot restraint on {structure.name or 'a structure without a name'}",
        inputs=inputs,
        limits=situation.limits,
        when=situation.when,
        closed=situation.closed,
    )
    for text in (drawable(said, _LONGEST), *facts_lines(structure, facts, _SHEET)):
        for line in wrapped(text, _SHEET.note_pt, wide_pt):
            y -= 1.35 * _SHEET.note_pt
            write(sheet, (16.0, y), line, Writing(_SHEET.note_pt))
    return y


def _panel(
    axes: "Axes", structure: Structure, situation: Situation, scene: Scene, view: View
) -> None:
    from shapely.affinity import translate

    low, high = extent_on_sheet(scene, view)
    around = survey(structure, situation)
    solids = len(around.solids.shapes)
    lowest, highest = extent_in_space(scene)
    for i, shape in enumerate(around.body.shapes):
        box_low, box_high = around.body.tables.low_m[i], around.body.tables.high_m[i]
        if (box_low > highest).any() or (box_high < lowest).any():
            continue
        look = {"facecolor": INK["solid"], "edgecolor": INK["outline"], "linewidth": 0.7}
        if i >= solids:
            look = {"facecolor": "none", "edgecolor": INK["keep-out"], "hatch": "///"}
        outline = translate(silhouette(shape, view), *-view.project(scene.links_m[-1]))
        _fill(axes, outline, {**look, "zorder": 1 if i < solids else 2})
    _draw_body(axes, scene, view)
    _draw_reach(axes, scene, view)
    # Upper ones are labelled above, so that leaders do not cross.
    heights = [scene.flat(view, np.asarray(one.position_m))[1] for one in scene.targets]
    for i in np.argsort(heights, kind="stable")[::-1].tolist():
        rank = sum(height > heights[i] for height in heights)
        _draw_target(axes, scene, view, (rank, scene.targets[i]))
    # "auto": the aspect may widen them to fill the panel, which is said on stderr otherwise.
    axes.set_xlim(low[0], high[0], auto=True)
    axes.set_ylim(low[1], high[1], auto=True)
    axes.set_aspect("equal", adjustable="datalim")
    axes.tick_params(labelsize=5.5, width=0.6, length=3.0, color=INK["outline"])
    axes.set_xlabel("ahead of the plate [m]", **_text(_SHEET.note_pt))
    words = "above the plate [m]" if view.name == "side" else "to the left [m]"
    axes.set_ylabel(words, **_text(_SHEET.note_pt))
    for spine in axes.spines.values():
        spine.set(linewidth=0.6, edgecolor=INK["outline"])


def _draw_body(axes: "Axes", scene: Scene, view: View) -> None:
    import shapely

    for ends, radius_m in scene.capsules():
        outline = shapely.LineString(scene.flat(view, ends)).buffer(radius_m)
        look = {"facecolor": _BODY, "alpha": 0.13, "edgecolor": "none", "zorder": 3}
        _fill(axes, outline, look)
        _fill(
            axes, outline, {"facecolor": "none", "edgecolor": _BODY, "linewidth": 1.1, "zorder": 4}
        )
    chain = scene.flat(view, scene.links_m)
    axes.plot(
        *chain.T, color=INK["line"], linewidth=2.0, marker="o", markersize=3.0, zorder=5,
        gid="restraint.links",
    )  # fmt: skip
    half_m = scene.restraint.boots_length_m / 2
    plate = scene.flat(view, np.stack([scene.at(-half_m, 0, 0), scene.at(half_m, 0, 0)]))
    axes.plot(*plate.T, color=INK["line"], linewidth=3.2, zorder=5, solid_capstyle="butt")
    axes.plot(
        *chain[0], marker="s", markersize=6.5, color=INK["paper"], markeredgecolor=INK["line"],
        zorder=6, gid="restraint.socket",
    )  # fmt: skip
    eye = scene.flat(view, scene.eye_m)
    axes.plot(*eye, marker="o", markersize=5.0, color=_EYES, markeredgecolor="black", zorder=7)
    for shoulder in scene.shoulders_m:
        axes.plot(
            *scene.flat(view, shoulder), marker="D", markersize=4.5, color=_ARMS,
            markeredgecolor="black", zorder=7,
        )  # fmt: skip


def _draw_reach(axes: "Axes", scene: Scene, view: View) -> None:
    """Draw where one hand reaches, and the ball in front of the chest."""
    from matplotlib.patches import Circle, Wedge

    body = scene.body
    for shoulder in scene.shoulders_m:
        x, y = scene.flat(view, shoulder)
        wide = body.one_hand_angle_deg
        axes.add_patch(
            Wedge(
                (x, y),
                body.one_hand_farthest_m,
                -wide,
                wide,
                width=body.one_hand_farthest_m - body.one_hand_nearest_m,
                facecolor="none",
                edgecolor=_ARMS,
                linewidth=1.0,
                linestyle=(0.0, (5.0, 2.5)),
                zorder=4,
                gid="restraint.one-hand",
            )
        )
    if any(target.hands == 2 for target in scene.targets):
        center = scene.flat(view, scene.at(body.two_hand_forward_m, 0.0, body.two_hand_height_m))
        axes.add_patch(
            Circle(
                (float(center[0]), float(center[1])),
                body.two_hand_radius_m,
                facecolor="none",
                edgecolor=_ARMS,
                linewidth=1.2,
                linestyle=(0.0, (1.2, 1.6)),
                zorder=4,
                gid="restraint.two-hands",
            )
        )


def _draw_target(axes: "Axes", scene: Scene, view: View, numbered: tuple[int, Target]) -> None:
    number, target = numbered
    place = np.asarray(target.position_m)
    x, y = scene.flat(view, place)
    eye = scene.flat(view, np.stack([scene.eye_m, place]))
    axes.plot(*eye.T, color=_EYES, linewidth=0.9, linestyle=(0.0, (1.2, 1.6)), zorder=5)
    reaching = sorted(scene.shoulders_m, key=lambda one: float(np.linalg.norm(place - one)))
    for shoulder in reaching[: target.hands]:
        arm = scene.flat(view, np.stack([shoulder, place]))
        axes.plot(*arm.T, color=_ARMS, linewidth=1.3, zorder=5)
    facing = np.asarray(target.facing) / np.linalg.norm(target.facing)
    tip = scene.flat(view, place + 0.18 * facing)
    axes.annotate(
        "", (float(tip[0]), float(tip[1])), (x, y), zorder=7,
        arrowprops={"arrowstyle": "->", "color": INK["keep-out"], "linewidth": 1.1},
    )  # fmt: skip
    axes.plot(
        x, y, marker="*", markersize=9.0, color=INK["keep-out"], markeredgecolor="black",
        markeredgewidth=0.6, zorder=8, gid="restraint.target",
    )  # fmt: skip
    # Labels stand on a fan, so that targets close together can be told apart.
    up = 24.0 - 26.0 * number
    axes.annotate(
        drawable(target.id, 24), (x, y), xytext=(26.0, up),
        textcoords="offset points", zorder=9, color=INK["line"],
        arrowprops={"arrowstyle": "-", "color": INK["leader"], "linewidth": 0.6},
        bbox={"facecolor": INK["paper"], "edgecolor": "none", "pad": 0.8},
        **_text(_SHEET.note_pt, weight="bold"),
    )  # fmt: skip


def _legend(figure: "Figure", low_pt: float) -> None:
    from matplotlib.font_manager import FontProperties
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles = [
        Patch(facecolor=_BODY, alpha=0.35, label="suited body and boots (must stay clear)"),
        Line2D([], [], color=INK["line"], linewidth=2.0, marker="o", markersize=3.0,
               label="restraint: socket (square), joints, plate"),
        Line2D([], [], color=_ARMS, linestyle=(0.0, (5.0, 2.5)), marker="D", markersize=4.0,
               label="shoulder and one-hand envelope"),
        Line2D([], [], color=_ARMS, linestyle=(0.0, (1.2, 1.6)), label="two-hand envelope"),
        Line2D([], [], color=_EYES, linestyle=(0.0, (1.2, 1.6)), marker="o", markersize=4.0,
               label="eyes and line of sight"),
        Line2D([], [], color=INK["keep-out"], marker="*", linestyle="none",
               label="target, arrow along its facing"),
        Patch(facecolor=INK["solid"], edgecolor=INK["outline"],
              label="structure near by (outline, no cut)"),
        Patch(facecolor="none", edgecolor=INK["keep-out"], hatch="///", label="keep-out zone"),
    ]  # fmt: skip
    figure.legend(
        handles=handles, loc="lower center", ncols=4, frameon=False,
        bbox_to_anchor=(0.5, (low_pt - 52.0) / _SHEET.sheet_pt[1]),
        prop=FontProperties(family=FONT, size=_SHEET.note_pt),
    )  # fmt: skip


def _fill(axes: "Axes", outline: Any, look: dict[str, Any]) -> None:
    from matplotlib.patches import Polygon

    for part in getattr(outline, "geoms", [outline]):
        axes.add_patch(Polygon(np.asarray(part.exterior.coords), closed=True, **look))


def _text(size_pt: float, weight: str = "normal") -> dict[str, Any]:
    from matplotlib.font_manager import FontProperties

    return {
        "fontproperties": FontProperties(family=FONT, size=size_pt, weight=weight),
        "parse_math": False,
        "usetex": False,
    }


def _unit(vector: Floats) -> tuple[float, float, float]:
    x, y, z = (vector / np.linalg.norm(vector)).tolist()
    return x, y, z
