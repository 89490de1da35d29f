"""Home: which hatch, by which rules, and what stands in the way of getting there."""

import functools
from dataclasses import dataclass

import numpy as np

from routing.errors import RoutingError
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.sites import site_grips
from routing.paths.answers.results import Protocol
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import LeastTimeTree, least_time_tree
from routing.paths.tethers.kit import Kit, default_kit
from routing.paths.tethers.outfit import Outfit, make_outfit
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.short_tethers import HookRule, hook_rule
from routing.paths.tethers.stack import LayBlockedError, TetherState
from routing.paths.tethers.steps import TetherGround
from structures.elements import Hatch

__all__ = ["HomeGround", "NoWayHomeError", "check_base", "closed_in", "lay_blocked"]


class NoWayHomeError(RoutingError, LookupError):
    """No way leads to the hatch under the rules; the message says why and what to do."""


@dataclass(frozen=True, kw_only=True, eq=False)
class HomeGround:
    """Where home is and by which rules one gets there; prepared once, asked often.

    Parameters
    ----------
    graph
        The reach graph.
    protocol
        How people stay tethered.
    kit
        Reels the person set out with (reel); by default two of the limits' length.
    hatch
        The hatch that is home; by default any, whichever is nearest by time.
    leave
        Whether tethers may stay outside (reel); see `routing.paths.home.homeward`.

    Raises
    ------
    UnknownIdError
        There is no such site.
    NoWayHomeError
        The structure has no hatch, or the site is none.
    """

    graph: ReachGraph
    protocol: Protocol
    kit: Kit | None = None
    hatch: str | None = None
    leave: bool = False

    def __post_init__(self) -> None:
        """Refuse a home that is no hatch."""
        known = sorted(hatch.id for hatch in self.graph.structure.hatches)
        if self.hatch is None:
            if not known:
                raise NoWayHomeError(
                    f"structure {self.graph.structure.name!r} has no hatch to go home to; "
                    "add one to its list of hatches"
                )
        elif site_grips(self.graph, self.hatch).kind != "hatch":
            raise NoWayHomeError(
                f"{self.hatch!r} is no hatch, so nobody gets in there; "
                f"give one of {', '.join(known) or 'no hatch at all'}"
            )

    @functools.cached_property
    def hatches(self) -> dict[int, str]:
        """Usable grips of the hatches that are home, and the hatch of each, ascending."""
        ids = self._homes()
        grips = {g: one for one in ids for g in site_grips(self.graph, one).grips.tolist()}
        return dict(sorted(grips.items()))

    @functools.cached_property
    def outfit(self) -> Outfit:
        """Tether points and reels, in the numbers that tether states use."""
        return make_outfit(self.graph, self.kit or default_kit(self.graph.situation.limits))

    @functools.cached_property
    def ground(self) -> TetherGround:
        """Where tethers may lie and be hooked on (reel)."""
        return reel_ground(self.graph)

    @functools.cached_property
    def rule(self) -> HookRule:
        """What leapfrog makes of every move."""
        return hook_rule(self.graph)

    @functools.cached_property
    def network(self) -> Network:
        """The moves that leapfrog allows, transfers in their cost."""
        sockets = np.flatnonzero(self.graph.grips.kind == GripKind.SOCKET)
        return Network.of_moves(
            self.graph.moves,
            extra_s=self.rule.transfer_s,
            allowed=self.rule.allowed,
            terminal=sockets,
        )

    @functools.cached_property
    def tree(self) -> LeastTimeTree:
        """Least times home of all grips under leapfrog, from one search backwards."""
        return least_time_tree(self.network.reverse, dict.fromkeys(self.hatches, 0.0))

    def _homes(self) -> list[str]:
        if self.hatch is not None:
            return [self.hatch]
        return [hatch.id for hatch in self.graph.structure.hatches]


def closed_in(ground: HomeGround, grip: int) -> str:
    """Say that no way leads home from a grip."""
    homes = ", ".join(sorted(set(ground.hatches.values()))) or "any hatch (none has a usable grip)"
    return (
        f"no way leads from {ground.graph.grips.ids[grip]} to {homes} under the tether rules; "
        "ask for that route by itself to see what would open it"
    )


def check_base(ground: HomeGround, state: TetherState) -> None:
    """Refuse to call anything recovered that did not begin at a hatch.

    Raises
    ------
    NoWayHomeError
        The first tether is not on the tether point of the hatch that it was hooked on at.
    """
    base = state.stack[0]
    point, grip = ground.outfit.points[base.point], base.grips[0]
    hatch_id = ground.hatches.get(grip)
    hatch = None if hatch_id is None else ground.graph.structure.find(hatch_id, (Hatch,))
    if hatch is None or hatch.tether_point != point.id:
        raise NoWayHomeError(
            f"the first tether is on {point.id}, hooked on at {ground.graph.grips.ids[grip]}, and "
            "not at the hatch that is home, so it cannot be recovered on the way there; plan from "
            "the hatch on, or say that tethers may be left outside"
        )


def lay_blocked(ground: HomeGround, error: LayBlockedError) -> str:
    """Say that a tether cannot be taken up because a move back along its lay is missing."""
    ids = ground.graph.grips.ids
    return (
        f"the way back along the line from {ids[error.tail]} to {ids[error.head]} is not allowed "
        "(closed or barred), so not every tether can be recovered; open it, or leave them outside"
    )
