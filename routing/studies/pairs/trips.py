"""One trip of the study of pairs: what is told of it."""

from typing import Final, Literal, TypeAlias

import numpy as np

from routing.graph.reach_graph import Floats, Indices, ReachGraph
from routing.studies.running.study import Column
from structures.frozen import frozen

__all__ = ["TRIP_COLUMNS", "MoveTable", "Trip", "Way"]

Way: TypeAlias = Literal["safe", "unsafe", "no way"]


@frozen(kw_only=True)
class Trip:
    """The least-time way of one pair, or that there is none."""

    way: Way
    seconds: float | None = None
    transfers: int | None = None
    exposure_s: float | None = None
    distance_m: float | None = None
    hand_overs: int | None = None
    reach_left_m: float | None = None
    turn_left_deg: float | None = None
    clearance_m: float | None = None
    line_left_m: float | None = None
    why: str | None = None


TRIP_COLUMNS: Final = (
    Column("way", "text", "safe; unsafe: a finding blocks it; no way"),
    Column("seconds", "number", "least time, transfers included [s]"),
    Column("transfers", "count", "tether transfers"),
    Column("exposure_s", "number", "of the seconds, those inside slow-down zones [s]"),
    Column("distance_m", "number", "length of the hands' way [m]"),
    Column("hand_overs", "count", "moves of the hands from grip to grip"),
    Column("reach_left_m", "number", "reach less the longest move between elements [m]"),
    Column("turn_left_deg", "number", "turn limit less the sharpest turn [deg]"),
    Column("clearance_m", "number", "least room beyond the body corridor, a lower bound [m]"),
    Column("line_left_m", "number", "least line left on a reel, the reserve included [m]"),
    Column("why", "text", "why it is unsafe or there is no way"),
)


@frozen(kw_only=True, eq=False)
class MoveTable:
    """What each move of a graph adds to a trip, all of shape (m,)."""

    graph: ReachGraph
    room_m: Floats
    """Room of the body corridor; infinite where nothing is near."""
    place_room_m: Floats
    """The same of bodies that stay at a grip, of shape (n,)."""

    def trip(
        self, moves: Indices, *, at: int, seconds: float, transfers: int, line_m: float | None
    ) -> Trip:
        """Return the trip over some moves, in any order.

        Parameters
        ----------
        moves
            Numbers of moves of the graph, shape (k,).
        at
            The grip where it ends: where it begins too, if there is no move.
        seconds, transfers
            Of the whole trip.
        line_m
            Least line left (reel).
        """
        table, situation = self.graph.moves, self.graph.situation
        between = moves[table.changes_rail[moves]]
        room_m = float(self.room_m[moves].min()) if len(moves) else float(self.place_room_m[at])
        sharpest = float(np.rad2deg(table.turn_rad[moves].max())) if len(moves) else None
        return Trip(
            way="safe",
            seconds=seconds,
            transfers=transfers,
            exposure_s=float(table.exposure_s[moves].sum()),
            distance_m=float(table.way_m[moves].sum()),
            hand_overs=len(moves),
            reach_left_m=situation.ability.reach_m - float(table.way_m[between].max())
            if len(between)
            else None,
            turn_left_deg=None if sharpest is None else situation.limits.max_turn_deg - sharpest,
            clearance_m=room_m if np.isfinite(room_m) else None,
            line_left_m=line_m,
        )
