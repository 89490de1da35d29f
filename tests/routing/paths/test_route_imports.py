"""What a route costs to import: nothing slow is loaded on the way to an answer."""

import subprocess
import sys

import pytest

SLOW = ("matplotlib", "networkx", "numba", "rich", "scipy", "shapely", "typer")

SCRIPT = """
import sys
from tests.routing.paths.route_graphs import deck
from routing.paths.route import find_route
from routing.paths.no_route.answer import NoRouteError
from routing.graph.situation import Situation
from routing.paths.route import RouteOptions
route = find_route(deck(), "A1", "W1", protocol={protocol!r})
route.to_document()
if {fails!r}:
    try:
        find_route(deck(), "A1", "W1", options=RouteOptions(situation=Situation(closed=("H2",))))
    except NoRouteError:
        pass
print(",".join(sorted(m for m in {watched!r} if m in sys.modules)))
"""


def loaded(protocol: str, *, fails: bool, watched: tuple[str, ...]) -> str:
    script = SCRIPT.format(protocol=protocol, fails=fails, watched=watched)
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_no_slow_library_is_loaded_for_a_route_or_its_reasons(protocol: str) -> None:
    assert loaded(protocol, fails=True, watched=SLOW) == ""


def test_reasons_and_the_tether_search_load_only_when_they_are_needed() -> None:
    watched = ("routing.paths.no_route.reasons", "routing.paths.tethers.search")
    assert loaded("leapfrog", fails=False, watched=watched) == ""
    assert loaded("reel", fails=False, watched=watched) == "routing.paths.tethers.search"
    assert "routing.paths.no_route.reasons" in loaded("leapfrog", fails=True, watched=watched)
