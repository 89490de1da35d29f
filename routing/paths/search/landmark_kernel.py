"""The bounds of landmarks in one pass, compiled: numpy needs a dozen calls and eight passes."""

import sys

import numpy as np

from routing.graph.reach_graph import Floats, Indices

__all__ = ["lead"]

_LEAST = -sys.float_info.max


def lead(  # noqa: PLR0913, PLR0917 - one function without calls, so that it compiles
    outward: Floats,
    homeward: Floats,
    sources: Indices,
    goals: Indices,
    use: int,
    shrink: float,
    safety_s: float,
) -> Floats:
    """Return what `Landmarks.bound` returns, bit for bit.

    Parameters
    ----------
    outward, homeward
        Least costs from and to each landmark, shape (landmarks, n).
    sources, goals
        Nodes.
    use
        How many landmarks to ask.
    shrink, safety_s
        The bounds are taken down by this factor and this much.
    """
    rows, nodes = outward.shape
    out_goal, home_goal, worth = np.empty(rows), np.empty(rows), np.empty(rows)
    for row in range(rows):
        nearest, farthest = np.inf, -np.inf
        for goal in goals:
            nearest = min(nearest, outward[row, goal])
            farthest = max(farthest, homeward[row, goal])
        out_goal[row], home_goal[row] = nearest, farthest
        least = np.inf
        for source in sources:
            out = nearest - outward[row, source]
            home = homeward[row, source] - farthest
            # Infinite less infinite says nothing; a comparison with it is false.
            seen = 0.0
            if not np.isnan(out) and not np.isnan(home):
                seen = max(out, home)
            elif not np.isnan(out):
                seen = out
            elif not np.isnan(home):
                seen = home
            least = min(least, seen)
        worth[row] = max(least, _LEAST)
    bound = np.zeros(nodes)
    for _ in range(min(use, rows)):
        row = int(np.argmax(worth))
        worth[row] = -np.inf
        from_landmark, to_landmark = outward[row], homeward[row]
        at_goal_out, at_goal_home = out_goal[row], home_goal[row]
        for node in range(nodes):
            out = at_goal_out - from_landmark[node]
            home = to_landmark[node] - at_goal_home
            known = bound[node]
            known = out if out > known else known  # noqa: FURB136 - false for no number
            bound[node] = home if home > known else known  # noqa: FURB136 - the same
    for node in range(nodes):
        bound[node] = max(bound[node] * shrink - safety_s, 0.0)
    return bound
