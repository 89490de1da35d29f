"""Searches for chains in step and on guesses find what they find one by one."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.graph.situation import Situation
from routing.limits import Limits
from routing.worksites.in_step import Search, alone, in_step
from routing.worksites.ties import search as tie_search
from routing.worksites.ties.chains import find_chains
from routing.worksites.ties.rails import Rails
from routing.worksites.ties.records import WorksiteChain
from structures.elements import AttachPoint, Handhold, Handrail, Socket, Solid, Worksite, Zone
from structures.model import Structure
from structures.polylines import Polyline
from structures.shapes import Box

UP = (0.0, 0.0, -1.0)
SEEDS = (4, 6, 9, 15)
ONE_TETHER = Situation(limits=Limits(max_chain=1))
place = st.tuples(*[st.floats(-3.0, 3.0).map(lambda x: round(x, 3)) for _ in range(3)])
lines = st.lists(place, min_size=1, max_size=4, unique=True).map(Polyline.through)


@given(st.lists(lines, min_size=1, max_size=5), place, st.data())
def test_places_on_rails_are_those_of_each_line_to_the_last_bit(
    some: list[Polyline], point: tuple[float, float, float], data: st.DataObject
) -> None:
    rails = Rails(some)
    kept = np.array(data.draw(st.permutations(range(len(some)))))
    taken = rails.take(kept)
    assert list(taken.lines) == [some[k] for k in kept.tolist()]
    pieces = taken.cut(np.array(point), np.array(point) + 1.0)
    for rail, line in enumerate(taken.lines):
        mine = pieces.rail == rail
        along_m = pieces.along_m[mine]
        expected = line.points_at(along_m)
        assert (pieces.point_m[mine] == expected).all()
        found = [taken.point_at(rail, one) for one in along_m.tolist()]
        assert (np.array(found) == expected).all()
        # Ends, corners and the nearest place are cut at, and the pieces fill the line.
        single = along_m[pieces.half_m[mine] == 0]
        assert np.isin(line.along_m, single).all()
        gap_m = line.gap_to_m(np.array([point]))[0]
        apart_m = np.sqrt(((line.points_at(single) - np.array(point)) ** 2).sum(axis=1))
        assert apart_m.min() == pytest.approx(gap_m, abs=1e-9)
        assert 2 * pieces.half_m[mine].sum() == pytest.approx(line.length_m, abs=1e-9)


def test_searches_in_step_are_answered_together_and_in_order() -> None:
    rounds: list[list[int]] = []

    def counting(start: int, steps: int) -> Search[int, int, list[int]]:
        heard: list[int] = []
        for step in range(steps):
            heard += [(yield 10 * start + step)]
        return heard

    def answer(asked: list[int]) -> list[int]:
        rounds.append(list(asked))
        return [-one for one in asked]

    assert in_step([counting(1, 2), counting(2, 0), counting(3, 3)], answer) == [
        [-10, -11],
        [],
        [-30, -31, -32],
    ]
    assert rounds == [[10, 30], [11, 31], [32]]
    assert alone(counting(4, 1), answer) == [-40]


def behind(seed: int) -> Structure:
    """Rails round a few boxes with a zone: many lines are bent, and some go through the zone."""
    random = np.random.default_rng(seed)

    def point() -> tuple[float, float, float]:
        x, y, z = np.round(random.uniform(-1.6, 1.6, 3), 2).tolist()
        return x, y, z

    boxes = [
        Solid(id=f"B{i}", volume=Box(center_m=point(), size_m=(0.9, 1.0, 1.1))) for i in range(2)
    ]
    starts = [point() for _ in range(5)]
    rails = [
        Handrail(id=f"H{i}", points_m=(start, (start[0] + 0.2, start[1], start[2])), normal=UP)
        for i, start in enumerate(starts)
    ]
    sites = [
        Worksite(
            id=f"W{i}",
            socket="S1",
            attach=(
                AttachPoint(id="a", held_m=point(), seated_m=point()),
                AttachPoint(id="b", held_m=point(), seated_m=point()),
            ),
        )
        for i in range(2)
    ]
    return Structure(
        name="behind",
        revision="A",
        solids=tuple(boxes),
        handrails=tuple(rails),
        handholds=(Handhold(id="K1", position_m=point(), normal=UP),),
        sockets=(Socket(id="S1", position_m=(9, 9, 9), normal=UP, clock_zero=(1, 0, 0)),),
        zones=(
            Zone(
                id="Z1",
                kind="keep-out",
                applies_to=("tether",),
                volume=Box(center_m=(0, 0, 0), size_m=(1.6, 1.2, 1.2)),
            ),
        ),
        worksites=tuple(sites),
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_found_hangs_on_no_guess(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    structure = behind(seed)
    guessed = find_chains(structure, ONE_TETHER)
    one_by_one: list[WorksiteChain] = []
    with monkeypatch.context() as patch:
        patch.setattr(tie_search, "_GUESSES", 0)
        for worksite in structure.worksites:
            only = structure.model_copy(update={"worksites": (worksite,)})
            one_by_one += find_chains(only, ONE_TETHER)
    assert [one.to_row() for one in guessed] == [one.to_row() for one in one_by_one]
    # The boxes bend lines and the zone bars some, so guesses do go wrong.
    assert "no chain" in {one.verdict for one in guessed}
    for kind in ("zones", "solids"):
        without = structure.model_copy(update={kind: ()})
        assert find_chains(without, ONE_TETHER) != guessed
