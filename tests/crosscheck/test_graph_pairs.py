import numpy as np
import pytest
from scipy.spatial import cKDTree

from routing.graph.pairs import pairs_within


def all_pairs(
    points_m: "np.ndarray[tuple[int, ...], np.dtype[np.float64]]", radius_m: float
) -> list[tuple[int, int]]:
    return [
        (i, j)
        for i in range(len(points_m))
        for j in range(i + 1, len(points_m))
        if ((points_m[i] - points_m[j]) ** 2).sum() <= radius_m**2
    ]


@pytest.mark.parametrize("draw", range(20))
def test_pairs_are_those_of_all_against_all_in_order(draw: int) -> None:
    random = np.random.default_rng(draw)
    count = int(random.integers(0, 120))
    spread = random.choice([0.1, 1.0, 3.0], 3)
    points_m = random.normal(size=(count, 3)) * spread + random.uniform(-100, 100, 3)
    radius_m = float(random.uniform(0.05, 1.0))
    first, second = pairs_within(points_m, radius_m)
    assert list(zip(first.tolist(), second.tolist(), strict=True)) == all_pairs(points_m, radius_m)


@pytest.mark.parametrize("points", [0, 1, 2])
def test_few_points(points: int) -> None:
    first, second = pairs_within(np.zeros((points, 3)), 1.0)
    assert (len(first), len(second)) == ((1, 1) if points == 2 else (0, 0))


def test_points_on_a_grid_of_the_radius_are_pairs_with_their_neighbours() -> None:
    # 5 x 4 x 3 points, 0.5 m apart (exact in binary): edges of the grid only.
    axes = np.meshgrid(np.arange(5), np.arange(4), np.arange(3), indexing="ij")
    points_m = np.stack([a.ravel() for a in axes], axis=1) * 0.5 - 7.0
    first, _ = pairs_within(points_m, 0.5)
    assert len(first) == 4 * 4 * 3 + 5 * 3 * 3 + 5 * 4 * 2


def test_far_apart_points_and_a_small_radius_do_not_run_over() -> None:
    points_m = np.array([[-1e4, -1e4, -1e4], [1e4, 1e4, 1e4], [1e4, 1e4, 1e4 - 1e-7]])
    first, second = pairs_within(points_m, 1e-6)
    assert (first.tolist(), second.tolist()) == ([1], [2])


@pytest.mark.parametrize("count", [3_000, 40_000])
def test_pairs_are_those_of_a_tree(count: int) -> None:
    random = np.random.default_rng(7)
    points_m = random.uniform(0, 1, (count, 3)) * (30.0, 10.0, 0.3)
    first, second = pairs_within(points_m, 0.3)
    tree = cKDTree(points_m).query_pairs(0.3, output_type="ndarray")
    tree = np.sort(tree, axis=1)
    tree = tree[np.lexsort((tree[:, 1], tree[:, 0]))]
    np.testing.assert_array_equal(np.stack([first, second], axis=1), tree)
