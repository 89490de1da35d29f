"""Which shapes are near which balls: with cells and without, against looking at each pair."""

import numpy as np
import pytest

from structures.solids import culling
from structures.solids.culling import near_pairs
from structures.solids.tables import ShapeTables
from tests.structures.sample_shapes import KINDS, random_shape


@pytest.mark.parametrize("few", [0, 1 << 30], ids=["cells", "each with each"])
@pytest.mark.parametrize("within_m", [-1.0, 0.0, 0.5, np.inf])
def test_near_pairs_are_those_of_a_plain_loop(
    monkeypatch: pytest.MonkeyPatch, few: int, within_m: float
) -> None:
    monkeypatch.setattr(culling, "_FEW", few)
    random = np.random.default_rng(35)
    shapes = ShapeTables(tuple(random_shape(random, kind, 5.0) for kind in KINDS for _ in range(3)))
    centers_m, radii_m = random.uniform(-6, 6, (80, 3)), random.uniform(0.0, 2.0, 80)
    some = np.arange(3, 80, 2)
    wanted = {}
    for shape in range(shapes.count):
        for ball in some.tolist():
            past = np.maximum(
                shapes.low_m[shape] - centers_m[ball], centers_m[ball] - shapes.high_m[shape]
            )
            # Deep inside it is the least way out, below 0.
            gap_m = np.linalg.norm(np.maximum(past, 0)) + min(past.max(), 0) - radii_m[ball]
            if gap_m <= within_m:
                wanted[shape, ball] = gap_m
    found = {}
    for shape, ball, gap_m in near_pairs(shapes, centers_m, radii_m, some, within_m):
        found |= dict(zip(zip(shape.tolist(), ball.tolist(), strict=True), gap_m, strict=True))
    assert found.keys() == wanted.keys()
    assert all(found[pair] == pytest.approx(gap_m, abs=1e-9) for pair, gap_m in wanted.items())
    assert len(wanted) > 5
