"""The safety tethers of one person: which tether is where, and where its line lies.

A state is a stack of stays. Each stay has the tether hooked there and its lay,
the grips along which its line lies, from the grip where it was hooked to where
the next tether was taken (or to where the person is). Lines get shorter only
by going back along them.
"""

from collections.abc import Iterator
from dataclasses import field

from routing.errors import RoutingError
from routing.paths.search.arrays import Network
from structures.frozen import frozen

__all__ = [
    "LayBlockedError",
    "Retreat",
    "Stay",
    "Tether",
    "TetherRules",
    "TetherState",
    "hooked_at",
    "retreats",
]


class LayBlockedError(RoutingError):
    """The way back along a lay uses a move that is not there (any more)."""

    def __init__(self, tail: int, head: int) -> None:
        self.tail = tail
        self.head = head
        super().__init__(
            f"the way home leads back along the line from grip {tail} to grip {head}, and that "
            "move is not allowed; open it again or leave the tether outside"
        )


@frozen(kw_only=True)
class Tether:
    """One type of safety tether."""

    name: str
    length_m: float


@frozen(kw_only=True)
class TetherRules:
    """Tethers there are and what holds for all of them.

    Parameters
    ----------
    tethers
        The types; everything else names a type by its place here.
    reserve_m
        Line that always stays on the reel [m].
    transfer_s
        What hooking to the next tether and releasing the last takes [s].
    """

    tethers: tuple[Tether, ...]
    reserve_m: float
    transfer_s: float

    def __post_init__(self) -> None:
        """Refuse numbers no answer can be right with."""
        for name, value in (
            ("reserve_m", self.reserve_m),
            ("transfer_s", self.transfer_s),
            *((f"length_m of {tether.name}", tether.length_m) for tether in self.tethers),
        ):
            if not 0 <= value < float("inf"):
                raise ValueError(f"{name} is {value}; it must be finite and not negative")

    def usable_m(self, tether: int) -> float:
        """Return the largest payout that this type allows: its length less the reserve [m]."""
        return self.tethers[tether].length_m - self.reserve_m


@frozen(kw_only=True, keep_hash=True)
class Stay:
    """One tether hooked to a tether point, and where its line lies."""

    point: int
    """Number of the tether point."""
    tether: int
    """Type of the tether."""
    staged: bool
    """Whether the tether was staged here (it stays) or carried (it is taken along)."""
    grips: tuple[int, ...]
    """The lay, from the grip where the tether was hooked on."""
    payout_m: tuple[float, ...]
    """Line out at each of these grips [m]; at the first, the distance to the point."""

    def __post_init__(self) -> None:
        """Refuse a lay that says nothing."""
        if not self.grips or len(self.grips) != len(self.payout_m):
            raise ValueError("a lay needs at least one grip and one payout for each")

    def cut(self, kept: int) -> "Stay":
        """Return the stay with only the first ``kept`` grips of its lay."""
        return Stay(
            point=self.point,
            tether=self.tether,
            staged=self.staged,
            grips=self.grips[:kept],
            payout_m=self.payout_m[:kept],
        )


@frozen(kw_only=True, keep_hash=True)
class TetherState:
    """What one person hangs on and what is left to use.

    Parameters
    ----------
    stack
        The stays, the first made first; the person is on the last.
    carried
        How many tethers of each type the person carries, the ones in use not counted.
    staged
        (tether point, type) of each tether staged and not in use, sorted.
    """

    stack: tuple[Stay, ...]
    carried: tuple[int, ...]
    staged: tuple[tuple[int, int], ...] = field(default=())

    def __post_init__(self) -> None:
        """Refuse stacks whose lays do not follow each other."""
        if not self.stack:
            raise ValueError("a person outside always hangs on a tether; the stack is empty")
        for below, above in zip(self.stack, self.stack[1:], strict=False):
            if below.grips[-1] != above.grips[0]:
                raise ValueError(
                    f"the lay at point {below.point} ends at grip {below.grips[-1]}, but the next "
                    f"tether was taken at grip {above.grips[0]}; they must be the same"
                )

    @property
    def grip(self) -> int:
        """Where the person is."""
        return self.stack[-1].grips[-1]

    @property
    def payout_m(self) -> float:
        """Line out now [m]."""
        return self.stack[-1].payout_m[-1]


@frozen(kw_only=True)
class Retreat:
    """One place that the person comes to by going back, and the state there."""

    origin: TetherState
    """Where the person was."""
    state: TetherState
    cost: float
    grips: tuple[int, ...]
    """From where the person was to here."""
    payout_m: tuple[float, ...]
    """Line out at each of these grips, on coming there [m]."""
    pops: tuple[tuple[int, Stay], ...]
    """(place in ``grips``, stay given up) of each tether taken up on the way."""


def hooked_at(
    *, point: int, grip: int, distance_m: float, tether: int, carried: tuple[int, ...]
) -> TetherState:
    """Return the state of a person who has just hooked a tether on, its line straight.

    Parameters
    ----------
    carried
        What is still carried, without this tether.
    """
    stay = Stay(point=point, tether=tether, staged=False, grips=(grip,), payout_m=(distance_m,))
    return TetherState(stack=(stay,), carried=carried)


def retreats(state: TetherState, network: Network, transfer_s: float) -> Iterator[Retreat]:
    """Yield every place on the way back along the lays, the present one first.

    Going back costs the moves the other way round, and one transfer at each
    stay but the first, where the earlier tether is taken again. Ends early
    where a move back is not in the network.
    """
    cost = 0.0
    grips = [state.grip]
    payouts_m = [state.payout_m]
    pops: list[tuple[int, Stay]] = []
    carried = list(state.carried)
    staged = list(state.staged)
    for level in range(len(state.stack) - 1, -1, -1):
        stay = state.stack[level]
        for kept in range(len(stay.grips), 0, -1):
            if kept < len(stay.grips):
                move = network.find_move(stay.grips[kept], stay.grips[kept - 1])
                if move is None:
                    return
                cost += float(network.cost[move])
                grips.append(stay.grips[kept - 1])
                payouts_m.append(stay.payout_m[kept - 1])
            yield Retreat(
                origin=state,
                state=TetherState(
                    stack=(*state.stack[:level], stay.cut(kept)),
                    carried=tuple(carried),
                    staged=tuple(sorted(staged)),
                ),
                cost=cost,
                grips=tuple(grips),
                payout_m=tuple(payouts_m),
                pops=tuple(pops),
            )
        if level > 0:
            cost += transfer_s
            pops.append((len(grips) - 1, stay))
            if stay.staged:
                staged.append((stay.point, stay.tether))
            else:
                carried[stay.tether] += 1
