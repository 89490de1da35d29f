"""Which pieces of two lines lie together from the start on, against a plain flood fill."""

from itertools import product

import numpy as np
import pytest

from routing.outings.lines.crossings import cells_together


@pytest.mark.parametrize("draw", range(40))
def test_cells_together_are_those_a_flood_fill_finds(draw: int) -> None:
    draw_from = np.random.default_rng(draw)
    shape = tuple(draw_from.integers(1, 30, 2).tolist())
    flags = draw_from.random(shape) < draw_from.uniform(0.2, 0.7)
    flags[0, 0] = True
    found, ahead = {(0, 0)}, [(0, 0)]
    while ahead:
        i, j = ahead.pop()
        for cell in product(range(i - 1, i + 2), range(j - 1, j + 2)):
            inside = 0 <= cell[0] < shape[0] and 0 <= cell[1] < shape[1]
            if inside and flags[cell] and cell not in found:
                found.add(cell)
                ahead.append(cell)
    assert set(map(tuple, np.argwhere(cells_together(flags)).tolist())) == found


def test_lines_side_by_side_for_long_lie_together_on_all_of_it() -> None:
    side_by_side = np.abs(np.subtract.outer(np.arange(90), np.arange(70))) < 3
    assert (cells_together(side_by_side) == side_by_side).all()
    wound = np.zeros((9, 9), dtype=bool)
    wound[[0, 2, 4, 6, 8], :] = True
    wound[[1, 5], -1] = wound[[3, 7], 0] = True
    assert (cells_together(wound) == wound).all()
