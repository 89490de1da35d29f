"""The picture of a person in a foot restraint."""

from pathlib import Path

import numpy as np
import pytest

from routing.caution import CAUTION
from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.show.pictures.restraint import draw_restraint
from routing.show.sheets.inputs import DrawingError
from routing.show.sheets.lettering import text_extent_pt
from routing.show.sheets.saving import save_figure
from routing.worksites.restraints.at_worksite import restraint_reach
from routing.worksites.restraints.poses import Setting, links_m
from routing.worksites.restraints.verdict import shortfall_text
from structures.built_in import built_in_bodies
from structures.elements import Target
from structures.model import Structure
from tests.routing.worksites.restraint_ground import BOTH, COARSE, ON_WALL, SOCKET, deck

READ = (InputDigest(name="deck.toml", sha256="ab" * 32),)


def drawn(structure: Structure, folder: Path, suffix: str = "svg") -> bytes:
    found = restraint_reach(structure, structure.worksites[0], Situation())
    path = folder / f"picture.{suffix}"
    save_figure(draw_restraint(structure, found, Situation(), READ), path)
    return path.read_bytes()


def test_it_says_setting_margin_and_caution(tmp_path: Path) -> None:
    made = deck(ON_WALL, BOTH, bodies=built_in_bodies()[1:])
    structure = made.model_copy(update={"name": "Tidewater deck"})
    found = restraint_reach(structure, structure.worksites[0], Situation())
    assert found.setting is not None
    text = drawn(structure, tmp_path).decode()
    assert "foot restraint on Tidewater deck" in text
    assert CAUTION.split(":")[1][:30] in text
    assert f"clock {found.setting.clock}, pitch" in text
    assert "T1" in text
    assert "T2" in text
    assert "two-hand envelope" in text
    assert "NOT FOR ALL" not in text


def test_drawing_says_nothing_beside_the_picture(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    drawn(deck(ON_WALL, BOTH), tmp_path)
    assert caplog.messages == []


def test_a_setting_that_fails_is_marked_so(tmp_path: Path) -> None:
    high = Target(id="T1", position_m=(0.5, 0.1, 2.9), facing=(-1.0, 0.0, 0.0))
    text = drawn(deck(high), tmp_path).decode()
    assert "NOT FOR ALL (no setting)" in text
    assert "DOES NOT WORK: too far (target T1) by" in text


def test_what_the_head_says_is_wrapped_not_cut(tmp_path: Path) -> None:
    structure = deck(ON_WALL, BOTH).model_copy(update={"name": "Tidewater"})
    site = structure.worksites[0].model_copy(update={"name": "A bay with a long name " * 8})
    structure = structure.model_copy(update={"worksites": (site, *structure.worksites[1:])})
    found = restraint_reach(structure, site, Situation())
    figure = draw_restraint(structure, found, Situation(), READ)
    (sheet,) = (axes for axes in figure.axes if axes.get_gid() is None)
    head = [one for one in sheet.texts if one.get_gid() == "note"]
    assert " ".join(one.get_text() for one in head).count("A bay with a long name") == 8
    assert found.setting is not None
    assert shortfall_text(found.setting) in " ".join(one.get_text() for one in head)
    heights = [one.get_position()[1] for one in head]
    assert heights == sorted(heights, reverse=True)
    for one in head:
        properties = one.get_fontproperties()
        width_pt, _, _ = text_extent_pt(
            one.get_text(), properties.get_size_in_points(), properties.get_weight()
        )
        assert one.get_position()[0] + width_pt <= sheet.get_xlim()[1]


def test_envelopes_are_whole_in_the_picture(tmp_path: Path) -> None:
    structure = deck(ON_WALL, BOTH)
    found = restraint_reach(structure, structure.worksites[0], Situation())
    figure = draw_restraint(structure, found, Situation(), READ)
    for axes in figure.axes:
        arcs = [one for one in axes.patches if one.get_gid() == "restraint.one-hand"]
        for arc in arcs:
            corners = np.asarray(arc.get_path().vertices)
            for axis, (low, high) in enumerate((axes.get_xlim(), axes.get_ylim())):
                assert low <= corners[:, axis].min()
                assert corners[:, axis].max() <= high


def test_same_picture_same_bytes(tmp_path: Path) -> None:
    for suffix in ("svg", "png", "pdf"):
        assert drawn(deck(), tmp_path, suffix) == drawn(deck(), tmp_path, suffix)


def test_socket_and_joints_are_where_they_are(tmp_path: Path) -> None:
    structure = deck()
    found = restraint_reach(structure, structure.worksites[0], Situation())
    row = found.setting
    assert row is not None
    figure = draw_restraint(structure, found, Situation(), READ)
    setting = Setting(row.clock, tuple(row.joints_deg.values()))
    points_m, axes = links_m(COARSE, SOCKET, setting)
    own = (points_m - points_m[-1]) @ axes
    side, above = (
        next(
            line
            for ax in figure.axes
            if ax.get_gid() == gid
            for line in ax.lines
            if line.get_gid() == "restraint.links"
        )
        for gid in ("restraint.side", "restraint.above")
    )
    assert side.get_xydata() == pytest.approx(own[:, [0, 2]])
    assert above.get_xydata() == pytest.approx(own[:, [0, 1]])


def test_there_must_be_a_setting_to_draw(tmp_path: Path) -> None:
    structure = deck().model_copy(update={"sockets": ()})
    site = structure.worksites[0]
    found = restraint_reach(structure, site, Situation())
    with pytest.raises(DrawingError, match="no setting to draw at worksite W1"):
        draw_restraint(structure, found, Situation(), READ)
