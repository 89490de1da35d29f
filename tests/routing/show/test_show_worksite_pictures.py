"""Pictures of one worksite question say on the sheet what their answer warns of."""

from typing import TYPE_CHECKING

import pytest

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.paths.tethers.kit import Outfitting
from routing.show.pictures.restraint import draw_restraint
from routing.show.pictures.sight import draw_sight
from routing.show.pictures.tie import draw_tie
from routing.worksites.restraints.at_worksite import restraint_reach
from routing.worksites.sight.vantage import sight_of
from routing.worksites.ties.details import tie_details
from structures.files.reader import read_structure
from tests.cli.command_ground import EXAMPLES
from tests.routing.worksites.restraint_ground import reachable
from tests.routing.worksites.test_not_reached import FACE, rails

if TYPE_CHECKING:
    from matplotlib.figure import Figure

READ = (InputDigest(name="a.toml", sha256="ab" * 32), InputDigest(name="b.csv", sha256="cd" * 32))


def written(figure: "Figure") -> str:
    """Return all texts on the sheet itself, in order."""
    return " ".join(text.get_text() for text in figure.axes[0].texts)


@pytest.fixture(name="sheet_of_tie", scope="module")
def tied() -> str:
    structure = read_structure(EXAMPLES["small"])
    found = tie_details(structure, "W1", Situation())
    assert found.safe
    return written(draw_tie(structure, found, Situation(), READ))


def test_a_payload_that_can_drift_says_so_on_paper(sheet_of_tie: str) -> None:
    assert "CAN DRIFT up to" in sheet_of_tie
    assert "where no line holds it" in sheet_of_tie


def test_every_file_read_is_named_on_paper(sheet_of_tie: str) -> None:
    assert "SHA-256 a.toml\u00a0abababababab, b.csv\u00a0cdcdcdcdcdcd" in sheet_of_tie


def test_lines_that_would_do_where_nobody_gets_to_are_not_called_tied_or_untied() -> None:
    structure = rails(last_hooks=True)
    found = tie_details(structure, "W", Situation(), reached={"H1"})
    assert not found.safe
    sheet = written(draw_tie(structure, found, Situation(), READ))
    assert "equipment tethers at W" in sheet
    assert "STOP: no safe way leads to H3" in sheet


def test_a_face_seen_from_where_the_first_hook_may_not_hold_is_marked() -> None:
    whole = rails(last_hooks=True)
    points = tuple(one.model_copy(update={"rating_n": None}) for one in whole.tether_points)
    structure = whole.model_copy(update={"tether_points": points})
    reels = Outfitting(name="", protocol="reel")
    graph = build_graph(structure, Situation())
    found = sight_of(graph, FACE, start="A1", outfitting=reels)
    sheet = written(draw_sight(structure, found, Situation(), READ))
    assert "WAY THERE UNSAFE: sight of F" in sheet
    assert "STOP: " in sheet


def test_a_setting_in_a_socket_that_nobody_gets_to_is_marked() -> None:
    structure = reachable()
    site = structure.worksites[0]
    there = restraint_reach(structure, site, Situation(), reached={"S1"})
    away = restraint_reach(structure, site, Situation(), reached=())
    assert "NO SAFE" not in written(draw_restraint(structure, there, Situation(), READ))
    sheet = written(draw_restraint(structure, away, Situation(), READ))
    assert "NO SAFE TETHERED WAY TO S1: W1: " in sheet
    assert "NOT FOR ALL" not in sheet
