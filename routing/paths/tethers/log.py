"""Which tether a person is on along a path, and how much line is out."""

from collections.abc import Iterable, Sequence

from routing.paths.course import Anchoring
from routing.paths.tethers.outfit import Outfit
from routing.paths.tethers.path import TetheredPath, TetherTransfer
from routing.paths.tethers.stack import TetherState

__all__ = ["log_tethers", "payout_along"]


def log_tethers(
    outfit: Outfit,
    paths: Sequence[TetheredPath],
    start: TetherState | None = None,
) -> tuple[Anchoring, ...]:
    """Return the tethers in use along paths that follow one another, in order.

    Parameters
    ----------
    start
        The state the first path starts from; needed where that has a past, a
        stack of more than one stay.
    """
    first = paths[0]
    stack = [(first.state.stack[0].point, first.tether[0], False)]
    if start is not None:
        stack = [(stay.point, stay.tether, stay.staged) for stay in start.stack]
    log = _TetherLog(outfit, stack, first.payout_m[0])
    for path in paths:
        for i, payout_m in enumerate(path.payout_m):
            if i > 0:
                log.step(payout_m)
            for transfer in path.transfers:
                if transfer.at == i:
                    log.swap(transfer)
    return log.finish()


class _TetherLog:
    """The tethers in use while a path is being followed."""

    def __init__(
        self, outfit: Outfit, stack: Sequence[tuple[int, int, bool]], payout_m: float
    ) -> None:
        self.outfit = outfit
        self.stack = list(stack)
        self.at = 0
        self.done: list[Anchoring] = []
        self._begin(payout_m)

    def _begin(self, payout_m: float, *, returns: bool = False) -> None:
        """Begin to use the last tether of the stack."""
        self.began_at = self.at
        self.returns = returns
        self.payout_m = [payout_m]

    def _used(self, stowed_m: float | None = None) -> Anchoring:
        """Return the tether in use, as far as it was used."""
        point, tether, staged = self.stack[-1]
        return Anchoring(
            at=self.began_at,
            element_id=self.outfit.points[point].id,
            line_m=self.outfit.rules.tethers[tether].length_m,
            payout_m=tuple(self.payout_m),
            starts=not self.done,
            staged=staged,
            returns=self.returns,
            seconds=self.outfit.rules.transfer_s if self.done else 0.0,
            stowed_m=stowed_m,
        )

    def step(self, payout_m: float) -> None:
        """Come to the next grip."""
        self.at += 1
        self.payout_m.append(payout_m)

    def swap(self, transfer: TetherTransfer) -> None:
        """Take the next tether, or on going back the one before."""
        returns = transfer.kind == "return"
        self.done.append(self._used(None if returns else transfer.released_m))
        if returns:
            self.stack.pop()
        else:
            self.stack.append((transfer.point, transfer.tether, transfer.staged))
        self._begin(transfer.payout_m, returns=returns)

    def finish(self) -> tuple[Anchoring, ...]:
        """Return all tethers in the order they were used in."""
        return (*self.done, self._used())


def payout_along(grips: Sequence[int], way_m: Iterable[float], first_m: float) -> tuple[float, ...]:
    """Return the line out at each grip of a path on one reel.

    The line gets longer by the way of each hand-over and shorter only by going
    back along the lay, grip by grip.

    Parameters
    ----------
    grips
        Grips in order.
    way_m
        Length of each hand-over, one fewer [m].
    first_m
        Line out at the first grip [m].

    Examples
    --------
    Out to 2 and one back again:

    >>> payout_along([0, 1, 2, 1], [1.0, 0.5, 0.5], 0.25)
    (0.25, 1.25, 1.75, 1.25)
    """
    lay = [(grips[0], first_m)]
    payout_m = [first_m]
    for grip, step_m in zip(grips[1:], way_m, strict=True):
        if len(lay) > 1 and lay[-2][0] == grip:
            lay.pop()
        else:
            lay.append((grip, lay[-1][1] + step_m))
        payout_m.append(lay[-1][1])
    return tuple(payout_m)
