"""Doing what a search with via sites found, action by action, with its tethers."""

from collections.abc import Sequence

from routing.paths.tethers.path import LineLeft, TetheredPath, TetherTransfer
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.stack import LayBlockedError, Stay, TetherState
from routing.paths.tethers.via_excursions import Action

__all__ = ["follow_actions"]


def follow_actions(
    problem: TetherProblem, start: TetherState, actions: Sequence[Action]
) -> tuple[TetheredPath, tuple[int, ...]]:
    """Return the path that these actions make from a state, and where via sites are met on it.

    Everything is worked out anew from the rules: line out, transfers, cost.
    """
    walk = _Walk(problem, start)
    for action in actions:
        getattr(walk, f"do_{action.kind}")(action.step)
    return walk.finish(), tuple(walk.via_at)


class _Walk:
    """One person and the tethers while a path is being followed."""

    def __init__(self, problem: TetherProblem, start: TetherState) -> None:
        self.problem = problem
        self.stack = list(start.stack)
        self.carried = list(start.carried)
        self.staged = list(start.staged)
        self.nodes = [start.grip]
        self.payout_m = [start.payout_m]
        self.tether = [start.stack[-1].tether]
        self.transfers: list[TetherTransfer] = []
        self.via_at: list[int] = []
        self.cost = 0.0
        self.left: list[tuple[float, int, int, bool]] = []
        self._note()

    def _note(self) -> None:
        tether = self.tether[-1]
        left_m = self.problem.rules.tethers[tether].length_m - self.payout_m[-1]
        self.left.append((left_m, len(self.nodes) - 1, tether, False))

    def _come_to(self, grip: int, payout_m: float) -> None:
        self.nodes.append(grip)
        self.payout_m.append(payout_m)
        self.tether.append(self.stack[-1].tether)
        self._note()

    def do_advance(self, _: int) -> None:
        """Meet a via site."""
        self.via_at.append(len(self.nodes) - 1)

    def do_move(self, step: int) -> None:
        """Go forward and lay line."""
        steps, ground = self.problem.steps, self.problem.ground
        move = int(steps.move[step])
        grip, stay = int(ground.network.head[move]), self.stack[-1]
        out_m = stay.payout_m[-1] + float(ground.way_m[move])
        self.stack[-1] = Stay(
            point=stay.point,
            tether=stay.tether,
            staged=stay.staged,
            grips=(*stay.grips, grip),
            payout_m=(*stay.payout_m, out_m),
        )
        self.cost += float(ground.network.cost[move])
        self._come_to(grip, out_m)

    def do_back(self, _: int) -> None:
        """Go back along the lay by one move."""
        stay, network = self.stack[-1], self.problem.ground.network
        tail, head = stay.grips[-1], stay.grips[-2]
        move = network.find_move(tail, head)
        if move is None:
            raise LayBlockedError(tail=tail, head=head)
        self.stack[-1] = stay.cut(len(stay.grips) - 1)
        self.cost += float(network.cost[move])
        self._come_to(head, stay.payout_m[-2])

    def do_take(self, step: int) -> None:
        """Put the next tether on and let the last one go."""
        steps, hooks = self.problem.steps, self.problem.ground.hooks
        hook, tether = int(steps.hook[step]), int(steps.tether[step])
        staged = bool(steps.staged[step])
        point, distance_m = int(hooks.point[hook]), float(hooks.distance_m[hook])
        before, at = self.stack[-1], len(self.nodes) - 1
        released_m = before.payout_m[-1] + distance_m
        length_m = self.problem.rules.tethers[before.tether].length_m
        self.left.append((length_m - released_m, at, before.tether, True))
        if staged:
            self.staged.remove((point, tether))
        else:
            self.carried[tether] -= 1
        grip = self.nodes[-1]
        self.stack.append(
            Stay(point=point, tether=tether, staged=staged, grips=(grip,), payout_m=(distance_m,))
        )
        self.cost += self.problem.rules.transfer_s
        self._transfer(self.stack[-1], taken=True, released_m=released_m)

    def do_pop(self, _: int) -> None:
        """Take the earlier tether again and the last one up."""
        stay = self.stack.pop()
        if len(stay.grips) != 1:
            raise AssertionError("a tether is taken up at the grip where it was hooked on")
        if stay.staged:
            self.staged.append((stay.point, stay.tether))
        else:
            self.carried[stay.tether] += 1
        self.cost += self.problem.rules.transfer_s
        self._transfer(stay, taken=False, released_m=0.0)

    def _transfer(self, stay: Stay, *, taken: bool, released_m: float) -> None:
        self.transfers.append(
            TetherTransfer(
                at=len(self.nodes) - 1,
                grip=self.nodes[-1],
                kind="take" if taken else "return",
                point=stay.point,
                tether=stay.tether,
                staged=stay.staged,
                released_m=released_m,
                payout_m=self.stack[-1].payout_m[-1],
            )
        )

    def finish(self) -> TetheredPath:
        """Return the path walked."""
        left_m, at, tether, stowed = min(self.left)
        return TetheredPath(
            nodes=tuple(self.nodes),
            back=0,
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
