"""From tether rules to flat sequences: the steps that the label kernel reads."""

import functools
from collections.abc import Collection, Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from routing.graph.reach_graph import Floats, Indices, Moves
from routing.paths.search.arrays import Flags, Network
from routing.paths.search.label_kernel import Steps
from routing.paths.tethers.junctions import Junctions, find_junctions
from routing.paths.tethers.stack import TetherRules, TetherState
from structures.frozen import frozen

__all__ = ["Hooks", "LabelSteps", "TetherGround", "TetherGroups", "make_steps"]

_BITS = 62
"""Bits that a packed number of tethers may have, for a 64-bit sign bit to stay clear."""


@frozen(kw_only=True, eq=False)
class Hooks:
    """Where a tether can be hooked on: every grip within hook reach of each tether point."""

    point: Indices
    """Number of the tether point, shape (h,)."""
    grip: Indices
    """Shape (h,)."""
    distance_m: Floats
    """From the grip to the point, shape (h,) [m]."""


@frozen(kw_only=True, eq=False)
class TetherGround:
    """Where tethers can lie and be hooked on.

    Parameters
    ----------
    network
        The moves along which a tether line may lie; their cost without transfers [s].
    way_m
        Line that each move of the network lays, shape (m,) [m].
    hooks
        Where transfers are possible.
    """

    network: Network
    way_m: Floats
    hooks: Hooks

    def __post_init__(self) -> None:
        """Refuse lengths no answer can be right with."""
        for name, values in (("way_m", self.way_m), ("distance_m", self.hooks.distance_m)):
            if not np.all(np.isfinite(values) & (values >= 0)):
                raise ValueError(f"every {name} must be finite and not negative")
        if len(self.way_m) != len(self.network.head):
            raise ValueError("way_m needs one length for each move of the network")

    @classmethod
    def of_moves(
        cls,
        moves: Moves,
        hooks: Hooks,
        *,
        terminal: Iterable[int] = (),
        allowed: NDArray[np.bool_] | None = None,
    ) -> "TetherGround":
        """Make the ground of a reach graph's moves: those along which a line may lie.

        Parameters
        ----------
        terminal
            Grips that are start or goal but never passed through (sockets).
        allowed
            Which moves may be used besides, shape (m,); all by default.
        """
        clear = moves.line_clear if allowed is None else moves.line_clear & allowed
        network = Network.of_moves(moves, allowed=clear, terminal=terminal)
        return cls(network=network, way_m=moves.way_m[network.move], hooks=hooks)

    @functools.cached_property
    def lengths(self) -> Network:
        """The network with metres of line as its cost."""
        return self.network.with_cost(self.way_m)

    @functools.cached_property
    def junctions(self) -> Junctions:
        """The ground for lower bounds; wherever a tether can be hooked on is a junction."""
        return find_junctions(self.network, self.way_m, self.hooks.grip)


@frozen(kw_only=True)
class TetherGroups:
    """Tethers that can be taken, in groups of equal ones, packed into one number.

    Each group has a field of bits wide enough for its largest count, and a guard bit above it.
    """

    carried: tuple[int, ...]
    """Lowest bit of the group of each type."""
    staged: tuple[tuple[tuple[int, int], int], ...]
    """((point, type), lowest bit) of each group of staged tethers."""
    field: tuple[tuple[int, int], ...]
    """(lowest bit, mask) of every group."""
    guard: int

    @classmethod
    def of_states(cls, states: Iterable[TetherState], types: int) -> "TetherGroups":
        """Lay out the fields so that whatever these states can come to have fits.

        Raises
        ------
        ValueError
            More tethers than fit; say which of the staged ones matter.
        """
        most_carried = [0] * types
        most_staged: dict[tuple[int, int], int] = {}
        for state in states:
            recoverable = state.stack[1:]
            for tether in range(types):
                most_carried[tether] = max(
                    most_carried[tether],
                    state.carried[tether]
                    + sum(stay.tether == tether and not stay.staged for stay in recoverable),
                )
            here = [*state.staged]
            here += [(stay.point, stay.tether) for stay in recoverable if stay.staged]
            for key in set(here):
                most_staged[key] = max(most_staged.get(key, 0), here.count(key))
        staged_keys = sorted(most_staged)
        low = 0
        lowest: list[int] = []
        fields: list[tuple[int, int]] = []
        guard = 0
        for most in [*most_carried, *(most_staged[key] for key in staged_keys)]:
            width = most.bit_length()
            lowest.append(low)
            fields.append((low, ((1 << width) - 1) << low))
            guard |= 1 << (low + width)
            low += width + 1
        if low > _BITS:
            raise ValueError(
                f"{len(lowest)} groups of tethers need {low} bits, more than {_BITS}; "
                "leave out staged tethers that this route cannot use"
            )
        return cls(
            carried=tuple(lowest[:types]),
            staged=tuple(zip(staged_keys, lowest[types:], strict=True)),
            field=tuple(fields),
            guard=guard,
        )

    def pack(self, state: TetherState) -> int:
        """Return the tethers that can be taken in this state as one number."""
        number = sum(count << low for count, low in zip(state.carried, self.carried, strict=True))
        lowest = dict(self.staged)
        return number + sum(1 << lowest[key] for key in state.staged)

    def mask(self, low: int) -> int:
        """Return the bits of the group whose lowest bit this is."""
        return dict(self.field)[low]


@frozen(kw_only=True, eq=False)
class LabelSteps:
    """Moves and transfers as the kernel reads them, and what each was made from."""

    arrays: Steps
    move: Indices
    """Move of the network, -1 for transfers."""
    hook: Indices
    """Place in the hooks, -1 for moves."""
    tether: Indices
    """Type taken, -1 for moves."""
    staged: Flags

    @functools.cached_property
    def lists(self) -> Steps:
        """The steps for the plain engine."""
        return Steps(*(array.tolist() for array in self.arrays))

    def without(self, hooks: Hooks, points: Collection[int]) -> "LabelSteps":
        """Return the steps with no line long enough for a transfer to some tether points."""
        if not points:
            return self
        at_point = np.where(self.hook >= 0, hooks.point[self.hook], -1)
        shut = np.isin(at_point, list(points))
        if not shut.any():
            return self
        need = np.where(shut, np.inf, self.arrays.need)
        return replace(self, arrays=self.arrays._replace(need=need))


def make_steps(ground: TetherGround, rules: TetherRules, groups: TetherGroups) -> LabelSteps:
    """Return moves and transfers in one CSR, for each grip the moves first.

    Every grip within hook reach of a tether point is a place to transfer there, to
    every type carried and to every tether staged there.
    """
    network, hooks = ground.network, ground.hooks
    options = [(-1, tether, low) for tether, low in enumerate(groups.carried)]
    options += [(point, tether, low) for (point, tether), low in groups.staged]
    swap_hook: list[Indices] = []
    swap_option: list[Indices] = []
    for number, (point, tether, low) in enumerate(options):
        fits = hooks.distance_m <= rules.usable_m(tether)
        if point >= 0:
            fits &= hooks.point == point
        if groups.mask(low) == 0:
            continue
        places = np.flatnonzero(fits).astype(np.int64)
        swap_hook.append(places)
        swap_option.append(np.full(len(places), number, dtype=np.int64))
    hook = np.concatenate([np.empty(0, dtype=np.int64), *swap_hook])
    option = np.concatenate([np.empty(0, dtype=np.int64), *swap_option])
    sort = np.lexsort((hooks.point[hook], option, hooks.grip[hook]))
    hook, option = hook[sort], option[sort]
    count, moves = len(hook), len(network.head)
    grip, distance_m = hooks.grip[hook], hooks.distance_m[hook]
    usable_m = np.array([rules.usable_m(tether) for _, tether, _ in options])
    types = np.array([tether for _, tether, _ in options], dtype=np.int64)
    lows = np.array([low for _, _, low in options], dtype=np.int64)
    masks = np.array([groups.mask(low) for _, _, low in options], dtype=np.int64)
    # Moves are sorted as they are: the transfers of a grip go in behind its moves.
    ahead = np.searchsorted(grip, np.arange(len(network) + 1))
    order = np.empty(moves + count, dtype=np.int64)
    order[np.arange(moves) + ahead[network.tail]] = np.arange(moves)
    order[network.indptr[grip + 1] + np.arange(count)] = moves + np.arange(count)
    none = np.full(moves, -1, dtype=np.int64)
    nothing = np.zeros(moves, dtype=np.int64)

    def ordered(of_moves: np.ndarray, of_swaps: np.ndarray) -> np.ndarray:
        return np.concatenate([of_moves, of_swaps])[order]

    return LabelSteps(
        arrays=Steps(
            indptr=network.indptr + ahead,
            head=ordered(network.head, grip),
            cost=ordered(network.cost, np.full(count, rules.transfer_s)),
            need=ordered(ground.way_m, distance_m),
            renewed=ordered(np.zeros(moves), usable_m[option] - distance_m),
            group=ordered(nothing, masks[option]),
            unit=ordered(nothing, np.int64(1) << lows[option]),
        ),
        move=ordered(np.arange(moves, dtype=np.int64), np.full(count, -1, dtype=np.int64)),
        hook=ordered(none, hook),
        tether=ordered(none, types[option]),
        staged=ordered(nothing, np.array([p >= 0 for p, _, _ in options])[option]).astype(np.int8),
    )
