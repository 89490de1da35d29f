"""Kits of unlike tethers: which chain, ratings, hooks, and several attach points at once."""

import math

import pytest

from routing.graph.situation import Situation
from routing.limits import Limits
from routing.worksites.ties.chains import find_chain
from routing.worksites.ties.details import tie_details
from routing.worksites.ties.kit import DEFAULT_TETHER, TetherKit, kit_of
from routing.worksites.ties.records import WorksiteChain
from routing.worksites.ties.together import Choice, choose_together, shortage
from structures.elements import AttachPoint, Handhold, Socket, Worksite
from structures.equipment import EquipmentTether
from structures.fields import Record
from structures.model import Structure

UP = (0.0, 0.0, -1.0)
Point = tuple[float, float, float]


def tether(tether_id: str, cinched_m: float, extended_m: float, **more: object) -> EquipmentTether:
    return EquipmentTether.model_validate(
        {"id": tether_id, "cinched_m": cinched_m, "extended_m": extended_m, "rating_n": 400.0}
        | more
    )


SHORT = tether("A-short", 0.2, 1.0, count=2)
LONG = tether("B-long", 0.5, 2.0, count=1)


def tied(*points: Point, holds: tuple[Point, ...] = ((0, 0, 0),), **lists: object) -> WorksiteChain:
    return find_chain(kits(*points, holds=holds, **lists), "W1", Situation(limits=THREE))


THREE = Limits(max_chain=3)


def kits(*points: Point, holds: tuple[Point, ...] = ((0, 0, 0),), **lists: object) -> Structure:
    kit = lists.pop("kit", (SHORT, LONG))
    attach = tuple(AttachPoint(id=f"a{i}", held_m=at, seated_m=at) for i, at in enumerate(points))
    return Structure.model_validate(
        {
            "name": "kits",
            "revision": "A",
            "handholds": tuple(
                Handhold(id=f"G{i}", position_m=at, normal=UP, tether_hook=True)
                for i, at in enumerate(holds)
            ),
            "sockets": (Socket(id="S1", position_m=(50, 0, 0), normal=UP, clock_zero=(1, 0, 0)),),
            "worksites": (Worksite(id="W1", socket="S1", attach=attach),),
            "equipment_tethers": kit,
        }
    )


def made_of(found: WorksiteChain, index: int = 0) -> dict[str, int]:
    return {part.tether: part.count for part in found.attach[index].chain}


@pytest.mark.parametrize(
    ("length_m", "chain"),
    [
        (0.3, {"A-short": 1}),  # margin 0.1; the long one is too long
        (0.9, {"B-long": 1}),  # margins 0.1 and 0.4
        (1.95, {"B-long": 1}),  # one tether with 0.05 m goes before two with more
        (2.5, {"A-short": 1, "B-long": 1}),
        (3.9, {"A-short": 2, "B-long": 1}),
        (4.1, {}),  # there is only one long one
        (0.1, {}),
    ],
)
def test_fewest_then_best_margin(length_m: float, chain: dict[str, int]) -> None:
    found = tied((length_m, 0, 0))
    assert made_of(found) == chain
    if chain:
        one = found.attach[0]
        ends = (
            sum(n * {"A-short": 0.2, "B-long": 0.5}[k] for k, n in chain.items()),
            sum(n * {"A-short": 1.0, "B-long": 2.0}[k] for k, n in chain.items()),
        )
        assert (one.cinched_m, one.extended_m) == pytest.approx(ends)
        assert one.margin_m == pytest.approx(min(length_m - ends[0], ends[1] - length_m), abs=1e-9)
        assert one.margin_at_most_m is not None
        assert one.margin_at_most_m >= one.margin_m
        assert one.rating_n == 400.0


def test_reason_names_the_tethers() -> None:
    reason = str(tied((4.5, 0, 0)).attach[0].reason)
    assert (
        "too far by at least 0.500 m (1.65 ft) for 3 tethers in series (2 x A-short, 1 x B-long)"
        in reason
    )


def test_the_weakest_link_rates_a_chain() -> None:
    strong = tether("C", 0.2, 1.0, rating_n=900.0)
    found = tied((1.9, 0, 0), kit=(strong, tether("D", 0.2, 1.0, rating_n=350.0, count=1)))
    assert (made_of(found), found.attach[0].rating_n) == ({"C": 2}, 900.0)
    mixed = tied((1.9, 0, 0), kit=(tether("C", 0.2, 1.0, rating_n=900.0, count=1),
                                   tether("D", 0.2, 1.0, rating_n=350.0, count=1)))  # fmt: skip
    assert mixed.attach[0].rating_n == 350.0


def test_tethers_rated_too_low_are_left_out() -> None:
    weak = tether("A-weak", 0.2, 2.0, rating_n=100.0)
    found = tied((1.5, 0, 0), kit=(weak, SHORT))
    assert made_of(found) == {"A-short": 2}
    none = tied((1.5, 0, 0), kit=(weak,))
    assert (none.verdict, none.attach[0].reason) == (
        "no chain",
        "A-weak is rated 100 N, 333.6 N are needed",
    )


def test_a_rating_that_is_not_known_is_never_enough() -> None:
    unrated = tether("A-new", 0.2, 3.0, rating_n=None)
    assert made_of(tied((1.5, 0, 0), kit=(unrated, SHORT))) == {"A-short": 2}
    far = tied((2.5, 0, 0), kit=(unrated, SHORT))
    assert far.verdict == "unknown"
    assert far.attach[0].reason == (
        "1 tether in series (1 x A-new) would span it, but the rating of A-new is not known"
    )


def test_one_hook_must_fit_the_handrail() -> None:
    small = tether("S", 0.2, 1.0, hooks=("small", "small"))
    none = tied((0.9, 0, 0), kit=(small,))
    assert none.attach[0].reason == "the kit has no tether with a hook for a handrail"
    big = tether("T", 0.2, 0.3, hooks=("small", "large"))
    found = tied((0.9, 0, 0), kit=(small, big))
    assert made_of(found) == {"S": 1, "T": 1}


def test_no_tether_is_used_twice() -> None:
    # Each alone is best with the long one; together one takes the short ones.
    first, second = (0.95, 0.0, 0.0), (1.5, 0.0, 0.0)
    assert made_of(tied(first)) == made_of(tied(second)) == {"B-long": 1}
    found = tied(first, second)
    assert (found.verdict, found.reason) == ("ok", None)
    assert (made_of(found, 0), made_of(found, 1)) == ({"A-short": 1}, {"B-long": 1})


def test_a_kit_that_is_too_small_says_what_it_lacks() -> None:
    found = tied((1.5, 0, 0), (1.6, 0, 0), (1.7, 0, 0))
    assert [chain.verdict for chain in found.attach] == ["ok", "ok", "ok"]
    assert found.verdict == "no chain"
    assert found.reason == (
        "the kit (2 x A-short, 1 x B-long) ties 2 of 3 attach points at the same time, as no "
        "tether can be used twice; 1 more B-long would do"
    )


def test_without_a_list_there_are_as_many_default_tethers_as_needed() -> None:
    assert kit_of(Structure(name="n", revision="A")) == TetherKit((DEFAULT_TETHER,))
    found = tied((1.5, 0, 0), (1.6, 0, 0), (1.7, 0, 0), (1.75, 0, 0), kit=())
    assert found.verdict == "ok"
    assert {part.tether for chain in found.attach for part in chain.chain} == {"equipment-tether"}


def test_a_kit_has_each_kind_once_and_in_order() -> None:
    with pytest.raises(ValueError, match="each id once, in id order"):
        TetherKit((LONG, SHORT))
    with pytest.raises(ValueError, match="one or more kinds"):
        TetherKit(())
    assert TetherKit.of([LONG, SHORT]).tethers == (SHORT, LONG)


def test_series_of_a_kit() -> None:
    kit = TetherKit.of([SHORT, LONG])
    assert [one.used for one in kit.series(2)] == [(2, 0), (1, 1)]
    assert [one.used for one in kit.series(3)] == [(2, 1)]
    assert kit.series(4) == ()


def test_records_are_frozen() -> None:
    assert isinstance(SHORT, Record)
    with pytest.raises(ValueError, match="frozen"):
        SHORT.count = 3


def test_choosing_among_no_attach_points_and_among_none_that_fit() -> None:
    assert choose_together([], (1,)) == ()
    assert choose_together([[Choice((2,), 1.0)]], (1,)) is None
    found = shortage([[Choice((2,), 1.0)], [Choice((1,), 1.0)]], (1,))
    assert (found.most_tied, found.lacking) == (1, (2,))


def test_margins_are_compared_from_the_worst_up() -> None:
    # Both pairs take three tethers; the second has the better worst margin.
    choices = [
        [Choice((1, 0), 0.5), Choice((0, 1), 0.4)],
        [Choice((1, 0), 0.1), Choice((0, 1), 0.3), Choice((1, 1), math.pi)],
    ]
    assert choose_together(choices, (1, 1)) == (0, 1)
    assert choose_together(choices, (2, 0)) == (0, 0)


def test_attach_points_in_one_place_and_chains_on_one_handrail_are_pointed_out() -> None:
    """Three chains on one handhold give one remark; only the pair that coincides gives another."""
    short = SHORT.model_copy(update={"count": 3})
    structure = kits((0.6, 0.0, 0.0), (0.6, 0.004, 0.0), (0.0, 0.6, 0.0), kit=(short,))
    found = tie_details(structure, "W1", Situation(limits=THREE))
    assert found.safe
    remarks = {one.code: one for one in found.findings}
    assert [one.code for one in found.findings].count("chains-at-one-place") == 1
    assert "a0, a1, a2 are all tied to handrail G0" in remarks["chains-at-one-place"].message
    assert remarks["attach-points-coincide"].elements == ("a0", "a1")
    assert "held and seated" in remarks["attach-points-coincide"].message
    apart = kits((0.6, 0.0, 0.0), (0.6, 0.006, 0.0), kit=(short,))
    codes = {one.code for one in tie_details(apart, "W1", Situation(limits=THREE)).findings}
    assert "attach-points-coincide" not in codes
