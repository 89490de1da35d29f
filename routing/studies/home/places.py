"""Time out to every grip and home from it, on the tethers that a person there would have."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final, Literal, TypeAlias

import numpy as np

from routing.graph.build import build_graph
from routing.graph.reach_graph import Indices
from routing.graph.sites import site_grips
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.home.homeward import HoldHome, HomeGround, homes_of_states
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.outfit import start_states
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_paths
from routing.paths.tethers.stack import TetherState
from structures.frozen import frozen
from structures.model import Structure

__all__ = ["HomePlace", "HomePlaces", "Verdict", "verdict_of"]

Verdict: TypeAlias = Literal["in time", "too late", "no way", "not held"]

_NOT_REACHED: Final = "no way leads there from the hatch, so nobody is there"
_NO_WAY: Final = "no way leads home from there"


@frozen(kw_only=True)
class HomePlace:
    """One grip: when one is there at the earliest, and how long it is home from there.

    ``out_s`` is None for a grip that is not reached, and then so is every time home.
    """

    grip: int
    out_s: float | None
    alone: HoldHome
    tow: HoldHome


def verdict_of(home: HoldHome, limit_s: float) -> Verdict:
    """Return what a time home is worth: a limit just met is met.

    Examples
    --------
    >>> verdict_of(HoldHome(seconds=1800.0), 1800.0), verdict_of(HoldHome(seconds=None), 1800.0)
    ('in time', 'no way')
    """
    if home.seconds is None:
        return "no way"
    return "in time" if home.seconds <= limit_s else "too late"


class HomePlaces:
    """Return times of one case: one person, load and protocol.

    Everybody has come to a grip by the least-time way from the hatch, and has
    the tethers that this way leaves them with. With a partner in tow they have
    the same, what the partner hangs on is not looked at, and tethers may always
    stay outside: who escorts a partner drops what is in the way (Mishap
    Investigation Board report IRIS S-2013-199-00005, 2013, page 88), and the way
    back along every lay would have to be wide enough for two.

    Parameters
    ----------
    structure
        With references checked.
    situation
        Of the way out, and of the way home alone.
    protocol
        How people stay tethered.
    kit
        Reels that a person sets out with (reel).
    leave
        Whether tethers may stay outside on the way home alone too (reel).
    """

    def __init__(
        self,
        structure: Structure,
        situation: Situation,
        protocol: Protocol,
        kit: Kit,
        *,
        leave: bool,
    ) -> None:
        self.graph = build_graph(structure, situation)
        towing = build_graph(structure, replace(situation, tow=True))
        if towing.grips.ids != self.graph.grips.ids:
            raise AssertionError("a partner in tow takes moves away, and no grip")
        reel = protocol == "reel"
        self.alone = HomeGround(graph=self.graph, protocol=protocol, kit=kit, leave=leave and reel)
        self.tow = HomeGround(graph=towing, protocol=protocol, kit=kit, leave=reel)
        self.out_s = np.full(len(self.graph.grips), np.inf)
        self.states: dict[int, TetherState] = {}
        if reel:
            self._arrive_on_reels()
        else:
            self._arrive_on_short_tethers()

    def __len__(self) -> int:
        """Return the number of grips."""
        return len(self.graph.grips)

    def places(self, first: int, last: int) -> Iterator[HomePlace]:
        """Yield the grips from first up to last, which is not among them."""
        reached = [grip for grip in range(first, last) if np.isfinite(self.out_s[grip])]
        found = [self._homes(ground, reached) for ground in (self.alone, self.tow)]
        homes = {grip: pair for grip, *pair in zip(reached, *found, strict=True)}
        nobody = HoldHome(seconds=None, why=_NOT_REACHED)
        for grip in range(first, last):
            alone, tow = homes.get(grip, (nobody, nobody))
            yield HomePlace(
                grip=grip,
                out_s=float(self.out_s[grip]) if grip in homes else None,
                alone=alone,
                tow=tow,
            )

    def _arrive_on_short_tethers(self) -> None:
        hatches = dict.fromkeys(self.alone.hatches, 0.0)
        self.out_s = least_time_tree(self.alone.network, hatches).cost

    def _arrive_on_reels(self) -> None:
        """Find the least-time way to every grip, from the hatch that is nearest by time."""
        ground, outfit = self.alone.ground, self.alone.outfit
        starts = tuple(
            state
            for hatch in sorted(hatch.id for hatch in self.graph.structure.hatches)
            for state in start_states(self.graph, outfit, site_grips(self.graph, hatch))
        )
        if not starts:
            return
        problem = TetherProblem(ground=ground, rules=outfit.rules, starts=starts)
        for grip, path in find_tethered_paths(problem, range(len(self))).paths.items():
            self.out_s[grip] = path.cost
            self.states[grip] = path.state

    def _homes(self, ground: HomeGround, grips: Sequence[int]) -> tuple[HoldHome, ...]:
        if ground.protocol == "reel":
            return homes_of_states(ground, [self.states[grip] for grip in grips])
        tree = ground.tree
        transfers = _transfers(ground)
        return tuple(
            HoldHome(seconds=float(tree.cost[grip]), transfers=int(transfers[grip]))
            if np.isfinite(tree.cost[grip])
            else HoldHome(seconds=None, why=_NO_WAY)
            for grip in grips
        )


def _transfers(ground: HomeGround) -> Indices:
    """Return the transfers on the least-time way home from each grip, shape (n,).

    The search has gone backwards, so a node's parent is the next grip homeward.
    """
    network, parent = ground.network, ground.tree.parent
    nodes = np.arange(len(network), dtype=np.int64)
    led = np.flatnonzero(parent >= 0)
    keys = network.tail * len(network) + network.head
    moves = network.move[np.searchsorted(keys, led * len(network) + parent[led])]
    count = np.zeros(len(network), dtype=np.int64)
    count[led] = ground.rule.transfers[moves]
    # Every round doubles how much of the way home is counted.
    ahead = np.where(parent >= 0, parent, nodes)
    total = count
    while (ahead != ahead[ahead]).any():
        total = total + np.where(ahead == nodes, 0, total[ahead])
        ahead = ahead[ahead]
    return total
