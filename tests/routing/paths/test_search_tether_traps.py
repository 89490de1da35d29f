"""Small cases in which a plausible short cut of the tether search gives a wrong answer."""

import itertools

import numpy as np
import pytest

from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time
from routing.paths.tethers.path import route_home
from routing.paths.tethers.search import TetherProblem, find_tethered_path, find_tethered_paths
from routing.paths.tethers.stack import (
    LayBlockedError,
    Stay,
    Tether,
    TetherRules,
    TetherState,
    hooked_at,
)
from routing.paths.tethers.steps import Hooks, TetherGround
from routing.paths.tethers.tables import make_tables

Listed = list[tuple[int, int, float, float]]


def _both_ways(arcs: Listed) -> Listed:
    return arcs + [(head, tail, cost, way) for tail, head, cost, way in arcs]


def _ground(
    nodes: int, arcs: Listed, hooks: list[tuple[int, int, float]], sockets: tuple[int, ...] = ()
) -> TetherGround:
    network = Network.of_arcs(nodes, [arc[:3] for arc in arcs], terminal=sockets)
    return TetherGround(
        network=network,
        way_m=np.array([arcs[move][3] for move in network.move]),
        hooks=Hooks(
            point=np.array([hook[0] for hook in hooks], dtype=np.int64),
            grip=np.array([hook[1] for hook in hooks], dtype=np.int64),
            distance_m=np.array([hook[2] for hook in hooks], dtype=np.float64),
        ),
    )


def _rules(*lengths_m: float, reserve_m: float = 0.0, transfer_s: float = 1.0) -> TetherRules:
    return TetherRules(
        tethers=tuple(Tether(name=f"{length:g} m", length_m=length) for length in lengths_m),
        reserve_m=reserve_m,
        transfer_s=transfer_s,
    )


def _problem(
    ground: TetherGround, rules: TetherRules, carried: tuple[int, ...], tether: int = 0
) -> TetherProblem:
    start = hooked_at(point=0, grip=0, distance_m=0.0, tether=tether, carried=carried)
    return TetherProblem(ground=ground, rules=rules, starts=(start,))


def test_quick_way_is_too_long_for_the_line() -> None:
    """Least time first and length afterwards says: no route. There is one."""
    ground = _ground(3, _both_ways([(0, 1, 1, 6), (1, 2, 1, 6), (0, 2, 5, 9)]), [])
    path = find_tethered_path(_problem(ground, _rules(10), (0,)), [2])
    assert path is not None
    assert (path.nodes, path.cost, path.payout_m) == ((0, 2), 5.0, (0.0, 9.0))
    assert path.least_left.left_m == 1.0
    quick = least_time(ground.network, {0: 0.0}, [2])
    assert quick is not None
    assert quick.nodes == (0, 1, 2)


def test_dearer_prefix_leaves_more_line() -> None:
    """The quick way to grip 1 uses up the line that the only way on needs."""
    arcs = _both_ways([(0, 1, 1, 5), (0, 2, 2, 1), (2, 1, 2, 1), (1, 3, 1, 6)])
    path = find_tethered_path(_problem(_ground(4, arcs, []), _rules(8), (0,)), [3])
    assert path is not None
    assert path.nodes == (0, 2, 1, 3)
    assert path.cost == 5.0


def test_grip_not_nearest_to_the_tether_point_is_the_place_to_transfer() -> None:
    """Grip 1 is nearest to the point but out of the way; only grip 2 serves."""
    arcs = _both_ways([(0, 2, 1, 4), (2, 1, 1, 3), (2, 3, 1, 5)])
    ground = _ground(4, arcs, [(1, 1, 0.0), (1, 2, 0.5)])
    path = find_tethered_path(_problem(ground, _rules(6), (1,)), [3])
    assert path is not None
    assert path.nodes == (0, 2, 3)
    assert [swap.grip for swap in path.transfers] == [2]
    only_nearest = _ground(4, arcs, [(1, 1, 0.0)])
    assert find_tethered_path(_problem(only_nearest, _rules(6), (1,)), [3]) is None


def test_every_grip_inside_the_ball_but_the_walk_is_too_long() -> None:
    """Each grip is within 10 m of the stay by some way, the walk to grip 3 is not.

    The short way to grip 2 leads through a socket, which nobody passes.
    """
    arcs = _both_ways([(0, 1, 1, 6), (1, 2, 1, 6), (0, 4, 1, 1), (4, 2, 1, 1), (2, 3, 1, 1)])
    ground = _ground(5, arcs, [], sockets=(4,))
    assert find_tethered_path(_problem(ground, _rules(10), (0,)), [3]) is None
    longer = find_tethered_path(_problem(ground, _rules(13), (0,)), [3])
    assert longer is not None
    assert longer.payout_m[-1] == 13.0


def test_released_end_must_reach_the_point() -> None:
    """At grip 1 five of six metres are out; the end still has to reach the point at 1.5 m."""
    arcs = _both_ways([(0, 1, 1, 5), (1, 2, 1, 4)])
    reach = [(1, 1, 1.5)]
    assert find_tethered_path(_problem(_ground(3, arcs, reach), _rules(6), (1,)), [2]) is None
    path = find_tethered_path(_problem(_ground(3, arcs, reach), _rules(6.5), (1,)), [2])
    assert path is not None
    assert path.transfers[0].released_m == 6.5
    assert path.transfers[0].payout_m == 1.5
    assert path.least_left.stowed
    assert path.least_left.left_m == 0.0


def test_reserve_stays_on_the_reel() -> None:
    ground = _ground(2, _both_ways([(0, 1, 1, 9)]), [])
    assert find_tethered_path(_problem(ground, _rules(10, reserve_m=1.5), (0,)), [1]) is None
    exact = find_tethered_path(_problem(ground, _rules(10, reserve_m=1.0), (0,)), [1])
    assert exact is not None
    assert exact.least_left.left_m == 1.0


def test_a_mixed_kit_spends_the_short_tether_where_it_is_enough() -> None:
    """Long legs need the long tether; taking it first leaves the short one where it fails."""
    arcs = _both_ways([(0, 1, 1, 5), (1, 2, 1, 5), (2, 3, 1, 9)])
    ground = _ground(4, arcs, [(1, 1, 0.0), (2, 2, 0.0)])
    path = find_tethered_path(_problem(ground, _rules(6, 10), (1, 1)), [3])
    assert path is not None
    assert [swap.tether for swap in path.transfers] == [0, 1]
    assert path.state.carried == (0, 0)


def test_a_staged_tether_serves_once() -> None:
    arcs = _both_ways([(0, 1, 1, 5), (1, 2, 1, 5)])
    ground = _ground(3, arcs, [(1, 1, 0.0)])
    start = TetherState(
        stack=(Stay(point=0, tether=0, staged=False, grips=(0,), payout_m=(0.0,)),),
        carried=(0,),
        staged=((1, 0),),
    )
    path = find_tethered_path(TetherProblem(ground=ground, rules=_rules(6), starts=(start,)), [2])
    assert path is not None
    assert path.transfers[0].staged
    assert path.state.staged == ()
    assert path.state.stack[1].staged


def test_next_route_goes_back_along_the_lay_and_home_recovers_all() -> None:
    """From a spur the line has to be taken back the way it lies, though a short cut is there."""
    arcs = _both_ways([(0, 1, 1, 4), (1, 2, 1, 4), (2, 0, 1, 4), (1, 3, 1, 4)])
    ground = _ground(4, arcs, [(1, 1, 0.0)])
    rules = _rules(8, transfer_s=0.5)
    out = find_tethered_path(_problem(ground, rules, (1,)), [2])
    assert out is not None
    assert out.nodes == (0, 2)
    there = find_tethered_path(TetherProblem(ground=ground, rules=rules, starts=(out.state,)), [3])
    assert there is not None
    # Forward over 2-1 all 8 m are out; going back to 0 first saves the transfer, costs a move.
    assert there.nodes == (2, 1, 3)
    assert [swap.kind for swap in there.transfers] == ["take"]
    home = route_home(there.state, ground.network, rules)
    assert home.nodes == (3, 1, 2, 0)
    assert home.cost == 3.5
    assert [(swap.kind, swap.grip) for swap in home.transfers] == [("return", 1)]
    assert home.state.carried == (1,)
    assert len(home.state.stack) == 1
    assert home.state.grip == 0
    with pytest.raises(LayBlockedError, match="from grip 1 to grip 2"):
        route_home(there.state, ground.network.without(moves=[_move(ground, 1, 2)]), rules)


def _move(ground: TetherGround, tail: int, head: int) -> int:
    move = ground.network.find_move(tail, head)
    assert move is not None
    return move


def test_several_starts_are_alternatives() -> None:
    ground = _ground(2, _both_ways([(0, 1, 1, 9)]), [])
    rules = _rules(6, 10)
    starts = tuple(
        hooked_at(point=0, grip=0, distance_m=0.0, tether=tether, carried=carried)
        for tether, carried in ((0, (0, 1)), (1, (1, 0)))
    )
    path = find_tethered_path(TetherProblem(ground=ground, rules=rules, starts=starts), [1])
    assert path is not None
    assert path.tether == (1, 1)


def test_start_with_too_much_line_out_reaches_nothing() -> None:
    ground = _ground(2, _both_ways([(0, 1, 1, 1)]), [])
    start = hooked_at(point=0, grip=0, distance_m=7.0, tether=0, carried=(0,))
    problem = TetherProblem(ground=ground, rules=_rules(6), starts=(start,))
    assert find_tethered_paths(problem, [0, 1]).paths == {}


def test_wrong_input_is_refused() -> None:
    ground = _ground(2, [(0, 1, 1, 1)], [])
    with pytest.raises(ValueError, match="a lay needs at least one grip"):
        Stay(point=0, tether=0, staged=False, grips=(), payout_m=())
    with pytest.raises(ValueError, match="the stack is empty"):
        TetherState(stack=(), carried=(0,))
    with pytest.raises(ValueError, match="length_m of nan m is nan; it must be finite"):
        _rules(float("nan"))
    first = Stay(point=0, tether=0, staged=False, grips=(0, 1), payout_m=(0.0, 1.0))
    with pytest.raises(ValueError, match="ends at grip 1, but the next"):
        TetherState(stack=(first, first), carried=(0,))
    with pytest.raises(ValueError, match="every way_m must be finite"):
        TetherGround(network=ground.network, way_m=np.array([np.nan]), hooks=ground.hooks)
    with pytest.raises(ValueError, match="way_m needs one length for each move"):
        TetherGround(network=ground.network, way_m=np.ones(2), hooks=ground.hooks)
    problem = _problem(ground, _rules(3), (0,))
    tables = make_tables(problem, [0])
    with pytest.raises(ValueError, match="made for other goals"):
        find_tethered_path(problem, [1], tables=tables)
    many = TetherState(
        stack=(first,), carried=(0,), staged=tuple((point, 0) for point in range(40))
    )
    crowded = TetherProblem(ground=ground, rules=_rules(3), starts=(many,))
    with pytest.raises(ValueError, match="leave out staged tethers"):
        find_tethered_path(crowded, [1])


def test_payout_is_the_sum_of_the_way() -> None:
    ways = [0.1, 0.2, 0.3, 0.7]
    arcs = _both_ways([(n, n + 1, 1, way) for n, way in enumerate(ways)])
    path = find_tethered_path(_problem(_ground(5, arcs, []), _rules(2), (0,)), [4])
    assert path is not None
    assert path.payout_m == pytest.approx(list(itertools.accumulate(ways, initial=0)), abs=1e-12)
