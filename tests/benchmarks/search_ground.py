"""Stations for the search benchmarks: only the arrays that a search reads.

Modules are cylinders of radius 2.2 m and 10 m long, in a row with branches on both sides; on
each about ninety handrails of 1 m: lanes along it and rings round it. Grips stand every
0.25 m; two grips within 0.61 m of each other are a move. Costs follow the default limits.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from routing.paths.arrays import Network
from routing.paths.tether_steps import Hooks, TetherGround

__all__ = ["Station", "make_station"]

RADIUS_M, LENGTH_M, REACH_M, RATE_M_PER_S, HOOK_M = 2.2, 10.0, 0.61, 0.1524, 0.61
LANES, RINGS = 8, 3
Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Station:
    ground: TetherGround
    position_m: Floats
    rail: NDArray[np.int64]
    exposure_s: Floats
    points: int


def _rails(module: int) -> list[tuple[Floats, Floats]]:
    """Grips and normals of the handrails of one module, in its own place."""
    row, side = divmod(module, 3)
    rails = []
    for lane in range(LANES):
        angle = 2 * np.pi * lane / LANES
        normal = np.array([0.0, np.cos(angle), np.sin(angle)])
        for start in np.arange(0.1, LENGTH_M - 1.0, 1.25):
            along = start + np.arange(5) * 0.25
            rails.append((np.outer(along, [1.0, 0, 0]) + RADIUS_M * normal, normal))
    for ring in range(RINGS):
        for lane in range(LANES):
            for first in (0.1, 0.55):
                angles = 2 * np.pi * (lane + first + np.arange(5) * 0.09) / LANES
                normals = np.stack([0 * angles, np.cos(angles), np.sin(angles)], axis=1)
                centre = np.array([1.0 + ring * 4.0, 0.0, 0.0])
                rails.append((centre + RADIUS_M * normals, normals))
    placed = []
    for grips, normal in rails:
        normals = np.broadcast_to(normal, grips.shape)
        if side:
            # A branch: turned to port or starboard from the middle of the row's module.
            sign = 1.0 if side == 1 else -1.0
            turn = np.array([[0, -sign, 0], [sign, 0, 0], [0, 0, 1.0]])
            offset = np.array([row * 10.0 + 5.0, sign * (RADIUS_M + 0.3), 0.0])
            placed.append((grips @ turn.T + offset, normals @ turn.T))
        else:
            placed.append((grips + np.array([row * 10.0, 0, 0]), normals))
    return placed


def _bridges(position_m: Floats, module: NDArray[np.int64]) -> list[Floats]:
    """Handrails from each branch to its row, where the two come closest."""
    bridges = []
    for branch in range(int(module.max()) + 1):
        if branch % 3 == 0:
            continue
        ours = position_m[module == branch]
        row = position_m[module == branch - branch % 3]
        distance, nearest = cKDTree(row).query(ours)
        for index in np.argsort(distance, kind="stable")[:3]:
            steps = max(int(np.ceil(distance[index] / 0.25)), 2)
            fraction = np.arange(1, steps)[:, None] / steps
            bridges.append(ours[index] + fraction * (row[nearest[index]] - ours[index]))
    return bridges


def make_station(grips: int, *, points: int = 55) -> Station:
    """Return a station of about this many grips; tether points grow with it from 5,000."""
    modules = max(round(grips / 510), 1)
    rails = [(m, rail) for m in range(modules) for rail in _rails(m)]
    position_m = np.concatenate([rail[0] for _, rail in rails])
    normal = np.concatenate([rail[1] for _, rail in rails])
    module = np.concatenate([np.full(len(rail[0]), m) for m, rail in rails])
    number = np.concatenate([np.full(len(rail[0]), r) for r, (_, rail) in enumerate(rails)])
    for bridge in _bridges(position_m, module):
        position_m = np.concatenate([position_m, bridge])
        normal = np.concatenate([normal, np.tile([0.0, 0.0, -1.0], (len(bridge), 1))])
        number = np.concatenate([number, np.full(len(bridge), number.max() + 1)])
    tree = cKDTree(position_m)
    pairs = tree.query_pairs(REACH_M, output_type="ndarray").astype(np.int64)
    pairs = np.concatenate([pairs, pairs[:, ::-1]])
    pairs = pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
    tail, head = pairs.T
    gap_m = np.linalg.norm(position_m[head] - position_m[tail], axis=1)
    cosine = np.clip(np.einsum("ij,ij->i", normal[tail], normal[head]), -1, 1)
    seconds = gap_m / RATE_M_PER_S + 2.0 * (number[tail] != number[head]) + 4.0 * np.arccos(cosine)
    rng = np.random.default_rng(11)
    slow = rng.uniform(position_m.min(axis=0), position_m.max(axis=0), (3 * modules, 3))
    near = cKDTree(slow).query(position_m)[0] < 2.0
    exposure_s = np.where(near[head], seconds, 0.0)
    chosen = rng.choice(len(position_m), max(points * grips // 5000, 4), replace=False)
    hook = cKDTree(position_m[chosen]).sparse_distance_matrix(tree, HOOK_M, output_type="ndarray")
    network = Network(
        indptr=np.searchsorted(tail, np.arange(len(position_m) + 1)).astype(np.int64),
        head=np.ascontiguousarray(head),
        cost=seconds + exposure_s,
        terminal=np.zeros(len(position_m), dtype=np.int8),
        move=np.arange(len(head), dtype=np.int64),
    )
    return Station(
        ground=TetherGround(
            network=network,
            way_m=gap_m,
            hooks=Hooks(
                point=hook["i"].astype(np.int64),
                grip=hook["j"].astype(np.int64),
                distance_m=np.ascontiguousarray(hook["v"]),
            ),
        ),
        position_m=position_m,
        rail=number,
        exposure_s=exposure_s,
        points=len(chosen),
    )
