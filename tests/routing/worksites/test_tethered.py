"""Where a tethered person gets to, held against a route to each grip by itself."""

import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.no_route.error import NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit, Outfitting
from routing.worksites.restraints.at_worksite import restraint_reach
from routing.worksites.sight.vantage import sight_of
from routing.worksites.tethered import safe_sites, tethered_grips
from structures.elements import Handrail, Socket, Target, Worksite
from structures.files.reader import read_structure
from structures.model import Structure
from structures.units import FOOT_M
from tests.cli.command_ground import EXAMPLES
from tests.routing.worksites.restraint_ground import ON_WALL, SOCKET, deck, reachable
from tests.routing.worksites.test_not_reached import FACE, rails


def is_routed(graph: ReachGraph, grip: str, outfitting: Outfitting) -> bool:
    """Ask for the route to one grip by itself."""
    options = RouteOptions(kit=outfitting.kit, explain=False)
    try:
        find_route(graph, "hatch", grip, protocol=outfitting.protocol, options=options)
    except NoRouteError:
        return False
    return True


@pytest.mark.parametrize(
    ("protocol", "kit", "some"),
    [
        ("leapfrog", None, False),
        ("reel", None, False),
        ("reel", Kit(reels_m=(11 * FOOT_M,)), True),
    ],
)
def test_a_grip_is_got_to_where_a_route_leads(
    protocol: Protocol, kit: Kit | None, *, some: bool
) -> None:
    graph = build_graph(read_structure(EXAMPLES["small"]), Situation())
    outfitting = Outfitting(name="", protocol=protocol, kit=kit)
    found = tethered_grips(graph, "hatch", outfitting)
    assert found.tolist() == [is_routed(graph, grip, outfitting) for grip in graph.grips.ids]
    assert found.any()
    assert not found.all() or not some


def test_without_a_hatch_nobody_is_anywhere() -> None:
    graph = build_graph(deck(), Situation())
    for protocol in ("leapfrog", "reel"):
        outfitting = Outfitting(name="", protocol=protocol)
        assert safe_sites(graph, ["S1"], outfitting) == frozenset()


def test_reels_lead_where_no_hook_of_short_tethers_holds() -> None:
    graph = build_graph(rails(last_hooks=False), Situation())
    for protocol, safe in (("leapfrog", False), ("reel", True)):
        outfitting = Outfitting(name=protocol, protocol=protocol)
        assert sight_of(graph, FACE, start="A1", outfitting=outfitting).safe is safe
        assert safe_sites(graph, ["H1", "W"], outfitting) == ({"H1", "W"} if safe else {"H1"})


def test_a_first_hook_that_may_not_hold_makes_it_all_unsafe() -> None:
    whole = rails(last_hooks=True)
    points = tuple(one.model_copy(update={"rating_n": None}) for one in whole.tether_points)
    graph = build_graph(whole.model_copy(update={"tether_points": points}), Situation())
    reels = Outfitting(name="", protocol="reel")
    assert safe_sites(graph, ["W"], reels) == frozenset()
    found = sight_of(graph, FACE, start="A1", outfitting=reels)
    assert (found.verdict, found.safe) == ("seen from one place", False)
    assert "tether-point-not-rated" in {one.code for one in found.findings}


def asked(structure: Structure, worksite: str = "W1") -> tuple[str, str, str | None, bool]:
    graph = build_graph(structure, Situation())
    outfitting = Outfitting(name="", protocol="leapfrog")
    reached = safe_sites(graph, [one.id for one in structure.sockets], outfitting)
    site = structure.find(worksite, (Worksite,))
    found = restraint_reach(structure, site, graph.situation, reached=reached)
    return found.verdict, found.way, found.socket, found.safe


def test_a_setting_in_a_socket_that_nobody_gets_to_is_not_safe() -> None:
    assert asked(reachable()) == ("ok", "reached", "S1", True)
    assert asked(deck()) == ("ok", "not reached", "S1", False)
    structure = deck()
    found = restraint_reach(structure, structure.worksites[0], Situation())
    assert (found.way, found.safe) == ("not asked", True)


def test_work_without_targets_asks_for_the_way_to_its_socket_all_the_same() -> None:
    for structure, way in ((reachable(), "reached"), (deck(), "not reached")):
        site = structure.worksites[0].model_copy(update={"targets": ()})
        without = structure.model_copy(update={"worksites": (site,)})
        assert asked(without) == ("nothing to reach", way, "S1", way == "reached")


def test_a_socket_that_nobody_gets_to_is_no_other_socket() -> None:
    """A second socket like the first, out of reach of hands; each serves the target before it."""
    far = SOCKET.model_copy(update={"id": "S2", "position_m": (0.0, 1.9, 0.0)})
    beside = Target(id="T2", position_m=(0.5, 2.0, 1.85), facing=(-1.0, 0.0, 0.0))

    def with_site(site: Worksite, first: Socket) -> Structure:
        whole = reachable()
        return whole.model_copy(update={"sockets": (first, far), "worksites": (site,)})

    on_rail = Worksite(id="W1", handrail="H1", place_m=(-0.3, 0.0, 0.06), targets=(ON_WALL,))
    assert asked(with_site(on_rail, SOCKET)) == ("ok", "reached", "S1", True)
    site = on_rail.model_copy(update={"targets": (beside,)})
    verdict, way, socket, safe = asked(with_site(site, SOCKET))
    assert (way, socket, safe) == ("reached", "S1", False)
    assert verdict != "another socket"
    own = Worksite(id="W1", socket="S1", targets=(beside,))
    assert asked(with_site(own, SOCKET))[0] != "another socket"
    rail = Handrail(
        id="H2", points_m=((-0.3, 0.5, 0.06), (-0.3, 1.7, 0.06)), normal=(0.0, 0.0, 1.0)
    )
    joined = with_site(own, SOCKET)
    joined = joined.model_copy(update={"handrails": (*joined.handrails, rail)})
    assert asked(joined)[0] == "another socket"
