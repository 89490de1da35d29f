"""One question about tethers: the ground, the rules and where the person may be."""

import functools
from collections.abc import Collection
from itertools import takewhile

import numpy as np

from routing.paths.search.arrays import Network
from routing.paths.search.label_kernel import Starts
from routing.paths.tethers.stack import Retreat, TetherRules, TetherState, retreats
from routing.paths.tethers.steps import LabelSteps, TetherGround, TetherGroups, make_steps
from structures.frozen import frozen

__all__ = ["TetherProblem", "start_labels"]


@frozen(kw_only=True, eq=False)
class TetherProblem:
    """Ground, rules and the states that a search may start from.

    Several starts are alternatives, for instance which type is hooked on at the hatch.
    """

    ground: TetherGround
    rules: TetherRules
    starts: tuple[TetherState, ...]

    @functools.cached_property
    def groups(self) -> TetherGroups:
        """How the tethers left are packed."""
        return TetherGroups.of_states(self.starts, len(self.rules.tethers))

    @functools.cached_property
    def steps(self) -> LabelSteps:
        """Moves and transfers for the kernel."""
        return make_steps(self.ground, self.rules, self.groups)

    @functools.cached_property
    def retreats(self) -> tuple[Retreat, ...]:
        """Every place from which the search may go forward."""
        network: Network = self.ground.network
        return tuple(
            place
            for state in self.starts
            for place in retreats(state, network, self.rules.transfer_s)
        )

    def only(self, *numbers: int) -> "TetherProblem":
        """Return the problem with some of its starts; it shares the steps, which cost most."""
        starts = tuple(self.starts[number] for number in numbers)
        problem = TetherProblem(ground=self.ground, rules=self.rules, starts=starts)
        problem.__dict__["groups"] = self.groups
        problem.__dict__["steps"] = self.steps
        return problem

    def without(self, grips: Collection[int], points: Collection[int]) -> "TetherProblem":
        """Return the problem of one start with grips and tether points closed since it was there.

        Lines stay where they lie, whatever is closed under them, but nobody goes back
        over a closed grip, is on a tether at a closed point, or hooks one on there. Grips
        are closed to all else by the tables: see `TetherTables.without`.

        Raises
        ------
        ValueError
            There are several starts: which of them one goes back from is not told apart.
        """
        (state,) = self.starts

        def is_open(place: Retreat) -> bool:
            return place.state.grip not in grips and place.state.stack[-1].point not in points

        problem = TetherProblem(ground=self.ground, rules=self.rules, starts=(state,))
        problem.__dict__["groups"] = self.groups
        problem.__dict__["steps"] = self.steps.without(self.ground.hooks, points)
        problem.__dict__["retreats"] = tuple(takewhile(is_open, self.retreats))
        return problem


def start_labels(problem: TetherProblem, *, plain: bool) -> Starts:
    """Return a label for every place from which the search may go forward."""
    rules, groups = problem.rules, problem.groups
    node = [place.state.grip for place in problem.retreats]
    cost = [place.cost for place in problem.retreats]
    slack = [
        rules.usable_m(place.state.stack[-1].tether) - place.state.payout_m
        for place in problem.retreats
    ]
    left = [groups.pack(place.state) for place in problem.retreats]
    if plain:
        return Starts(node, cost, slack, left)
    return Starts(
        np.array(node, dtype=np.int64),
        np.array(cost, dtype=np.float64),
        np.array(slack, dtype=np.float64),
        np.array(left, dtype=np.int64),
    )
