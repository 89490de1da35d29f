"""How many lines of settings shapes stand in for certain: far cheaper than all checks of lines.

Where a target is hidden every setting must be looked at to know that none is
better. Most are passed over by this count.
"""

import numpy as np

from routing.graph.surroundings import Named, Surroundings
from routing.worksites.restraints.columns import Aim, Sizes
from routing.worksites.restraints.poses import Poses, plate_poses
from routing.worksites.restraints.rows import Tried
from structures.bodies import Body
from structures.solids.axes import Flags, Floats, Indices
from structures.solids.sight import crosses

__all__ = ["crossed_lines"]


def crossed_lines(
    tried: Tried, body: Body, some: Indices, surroundings: Surroundings, enough: int = 2
) -> Indices:
    """Count the checks of lines (helmet, shoulder) that fail for certain, shape (k,).

    Seams are not looked for, so that what the full check finds is never less.

    Parameters
    ----------
    tried, body
        What is tried, and for whom.
    some
        Numbers of settings, shape (k,).
    surroundings
        What stands round the socket.
    enough
        Where so many fail no more is looked at.
    """
    poses = plate_poses(tried.restraint, tried.socket, some)
    sizes, aims = Sizes.of(body), [Aim.of(one, surroundings) for one in tried.targets]
    hidden, out_of_arms = np.zeros((2, len(some)), dtype=np.bool_)
    for aim in aims:
        ask = np.flatnonzero(~hidden)
        hidden[ask] = _crossed(poses.take(ask), sizes.eye_m, aim, surroundings.solids)
    for aim in aims:
        ask = np.flatnonzero(~out_of_arms & (hidden < enough))
        left = _crossed(poses.take(ask), sizes.shoulder_m(1.0), aim, surroundings.body)
        # With one hand the other arm matters where this one fails; with both where it does not.
        other = ~left if aim.both_hands else left
        right = np.zeros(len(ask), dtype=np.bool_)
        right[other] = _crossed(
            poses.take(ask[other]), sizes.shoulder_m(-1.0), aim, surroundings.body
        )
        out_of_arms[ask] = left | right if aim.both_hands else left & right
    return hidden.astype(np.int64) + out_of_arms


def _crossed(poses: Poses, local_m: Floats, aim: Aim, around: Named) -> Flags:
    """Tell which lines from a point of the body to a target go through a shape, shape (s,)."""
    starts_m = poses.at_m(local_m)
    found = np.zeros(len(starts_m), dtype=np.bool_)
    ends_m = np.broadcast_to(aim.looked_at_m, starts_m.shape)
    for shape in around.near(np.concatenate([starts_m, ends_m[:1]]), 0.0):
        ask = np.flatnonzero(~found)
        found[ask] = crosses(shape, starts_m[ask], ends_m[ask])
    return found
