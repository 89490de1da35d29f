"""A path on safety tethers: grips, transfers, line out at each, and the tethers at its end."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

from routing.paths.search.arrays import Network
from routing.paths.tethers.stack import (
    LayBlockedError,
    Retreat,
    Stay,
    TetherRules,
    TetherState,
    retreats,
)
from routing.paths.tethers.steps import Hooks
from structures.frozen import frozen

__all__ = [
    "LineLeft",
    "TetherStep",
    "TetherTransfer",
    "TetheredPath",
    "follow_path",
    "route_home",
]


@frozen(kw_only=True)
class TetherTransfer:
    """One change of tether."""

    at: int
    """Place in the path's nodes."""
    grip: int
    kind: Literal["take", "return"]
    """``take``: hook the next tether and release the last; ``return``: take the last one again."""
    point: int
    """Tether point of the tether hooked on, or of the one taken up on a return."""
    tether: int
    """Type of that tether."""
    staged: bool
    released_m: float
    """Line out on the released tether once its end is stowed at the point [m]; 0 on a return."""
    payout_m: float
    """Line out on the tether in use afterwards [m]."""


@frozen(kw_only=True)
class LineLeft:
    """Least line left on a path and where: what the reserve is taken from."""

    left_m: float
    at: int
    """Place in the path's nodes."""
    tether: int
    """Type of the tether."""
    stowed: bool
    """Whether that is with the end stowed at the point of a transfer."""


@frozen(kw_only=True)
class TetheredPath:
    """Least-cost path under the tether rules."""

    nodes: tuple[int, ...]
    """Grips in order; the first ``back`` moves go back over the old lays."""
    back: int
    cost: float
    """Seconds, transfers included."""
    transfers: tuple[TetherTransfer, ...]
    payout_m: tuple[float, ...]
    """Line out on coming to each grip, on the tether in use then [m]."""
    tether: tuple[int, ...]
    """Type of the tether in use on coming to each grip."""
    least_left: LineLeft
    state: TetherState
    """What the next route starts from."""


class TetherStep(NamedTuple):
    """One step forward as the search found it."""

    grip: int
    cost: float
    slack_m: float
    hook: int | None
    """Place in the hooks for a transfer, None for a move."""
    tether: int
    staged: bool


class _Walk:
    """A path while it is being followed."""

    def __init__(self, rules: TetherRules, retreat: Retreat) -> None:
        self.rules = rules
        self.nodes = list(retreat.grips)
        self.payout_m = list(retreat.payout_m)
        self.tether = [retreat.origin.stack[-1].tether]
        self.transfers: list[TetherTransfer] = []
        self.stack = list(retreat.state.stack)
        # The lay of the last stay grows here; making a stay at every grip is what took longest.
        self.lay_grips: list[int] = []
        self.lay_m: list[float] = []
        self.carried = list(retreat.state.carried)
        self.staged = list(retreat.state.staged)
        self.left: list[tuple[float, int, int, bool]] = []
        self.cost = retreat.cost
        self._go_back(retreat)

    def _go_back(self, retreat: Retreat) -> None:
        first = retreat.origin
        level = len(first.stack) - 1
        for at in range(len(self.nodes)):
            if at > 0:
                self.tether.append(first.stack[level].tether)
            self._note(at)
            for stay in (stay for place, stay in retreat.pops if place == at):
                level -= 1
                self.transfers.append(
                    TetherTransfer(
                        at=at,
                        grip=self.nodes[at],
                        kind="return",
                        point=stay.point,
                        tether=stay.tether,
                        staged=stay.staged,
                        released_m=0.0,
                        payout_m=first.stack[level].payout_m[-1],
                    )
                )

    def _note(self, at: int) -> None:
        tether = self.tether[at]
        left_m = self.rules.tethers[tether].length_m - self.payout_m[at]
        self.left.append((left_m, at, tether, False))

    def move(self, step: TetherStep) -> None:
        stay = self.stack[-1]
        out_m = self.rules.usable_m(stay.tether) - step.slack_m
        self.lay_grips.append(step.grip)
        self.lay_m.append(out_m)
        self.nodes.append(step.grip)
        self.payout_m.append(out_m)
        self.tether.append(stay.tether)
        self._note(len(self.nodes) - 1)

    def _lay_down(self) -> None:
        """Put what was laid since into the last stay."""
        stay = self.stack[-1]
        if self.lay_grips:
            self.stack[-1] = Stay(
                point=stay.point,
                tether=stay.tether,
                staged=stay.staged,
                grips=(*stay.grips, *self.lay_grips),
                payout_m=(*stay.payout_m, *self.lay_m),
            )
            self.lay_grips, self.lay_m = [], []

    def take(self, step: TetherStep, point: int, distance_m: float) -> None:
        self._lay_down()
        released_m = self.stack[-1].payout_m[-1] + distance_m
        at = len(self.nodes) - 1
        before = self.stack[-1].tether
        self.left.append((self.rules.tethers[before].length_m - released_m, at, before, True))
        self.stack.append(
            Stay(
                point=point,
                tether=step.tether,
                staged=step.staged,
                grips=(step.grip,),
                payout_m=(distance_m,),
            )
        )
        if step.staged:
            self.staged.remove((point, step.tether))
        else:
            self.carried[step.tether] -= 1
        self.transfers.append(
            TetherTransfer(
                at=at,
                grip=step.grip,
                kind="take",
                point=point,
                tether=step.tether,
                staged=step.staged,
                released_m=released_m,
                payout_m=distance_m,
            )
        )

    def finish(self, back: int) -> TetheredPath:
        self._lay_down()
        left_m, at, tether, stowed = min(self.left)
        return TetheredPath(
            nodes=tuple(self.nodes),
            back=back,
            cost=self.cost,
            transfers=tuple(self.transfers),
            payout_m=tuple(self.payout_m),
            tether=tuple(self.tether),
            least_left=LineLeft(left_m=left_m, at=at, tether=tether, stowed=stowed),
            state=TetherState(
                stack=tuple(self.stack),
                carried=tuple(self.carried),
                staged=tuple(sorted(self.staged)),
            ),
        )


def follow_path(
    rules: TetherRules, hooks: Hooks, retreat: Retreat, forward: Sequence[TetherStep]
) -> TetheredPath:
    """Return the path that goes back to a place on the old lays and forward from there.

    Parameters
    ----------
    rules
        Lengths of the kit, the reserve and the cost of a transfer.
    hooks
        Where a tether can be hooked on, by the number that a step names.
    retreat
        The way back, with the state at its end.
    forward
        Moves and transfers from there, in order.
    """
    walk = _Walk(rules, retreat)
    for step in forward:
        if step.hook is None:
            walk.move(step)
        else:
            walk.take(step, int(hooks.point[step.hook]), float(hooks.distance_m[step.hook]))
        walk.cost = step.cost
    return walk.finish(len(retreat.grips) - 1)


def route_home(state: TetherState, network: Network, rules: TetherRules) -> TetheredPath:
    """Return the way back along all lays to where the first tether was hooked on.

    The rules force it: a tether can be taken up only by going back along its lay,
    so whoever recovers every carried tether goes exactly this way. At its end the
    person hangs on the first tether alone, at the grip where it was hooked on.

    Raises
    ------
    LayBlockedError
        A move back is not in the network.
    """
    last: Retreat | None = None
    for place in retreats(state, network, rules.transfer_s):
        last = place
    if last is None:
        raise AssertionError("going back starts where the person is")
    end = last.state.stack[-1]
    if len(last.state.stack) > 1 or len(end.grips) > 1:
        # Went back as far as it could: name the move that is missing.
        level = last.state.stack[-1]
        raise LayBlockedError(tail=level.grips[-1], head=level.grips[-2])
    return _Walk(rules, last).finish(len(last.grips) - 1)
