"""Times home under closures by hand: two hatches, so that a loss may change the way home alone."""

from itertools import pairwise
from math import ceil, fsum

import pytest

from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.answers.results import Protocol
from routing.studies.closures.answers import Answers, Asked, Trip, worksite_trips
from routing.studies.closures.closure import Closure, single_closures
from routing.studies.closures.ranking import Tally, count_rows
from routing.studies.closures.reached import reached_goals
from routing.studies.closures.sweep import COLUMNS, closure_study
from routing.studies.closures.times_home import TimesHome
from routing.studies.running.run import run_study
from structures.elements import Condition, Hatch, TetherPoint, Worksite, Zone
from structures.model import Structure
from structures.shapes import Box
from tests.routing.paths.route_graphs import HANDS_M, UP, deck, straight_rail

_AT = {column.name: i for i, column in enumerate(COLUMNS)}
OUT = Trip(starts=("A1",), goal="W1")


def two_hatches() -> Structure:
    """Rails in line between two hatches; the worksite is nearer to the second one.

    ::

        A1  H1 0..3   H2 3.4..6   H3 6.4..9 (W1 at 8.5)   H4 9.4..10   B1
        -0.4                                                           10.4
    """
    points = {"T1": -0.4, "T2": 10.4}
    return deck(
        handrails=(
            straight_rail("H1", 0.0, 3.0),
            straight_rail("H2", 3.4, 6.0),
            straight_rail("H3", 6.4, 9.0),
            straight_rail("H4", 9.4, 10.0),
        ),
        sockets=(),
        tether_points=tuple(
            TetherPoint(id=one, position_m=(x_m, 0.3, 0.0), rating_n=3000.0)
            for one, x_m in points.items()
        ),
        hatches=tuple(
            Hatch(id=hatch, position_m=(points[point], 0.0, HANDS_M), normal=UP, tether_point=point)
            for hatch, point in (("A1", "T1"), ("B1", "T2"))
        ),
        worksites=(Worksite(id="W1", handrail="H3", place_m=(8.5, 0.5, 0.0)),),
    )


def asked_of(
    structure: Structure, protocol: Protocol = "leapfrog", limit_s: float = 1800.0
) -> Asked:
    situation = Situation(limits=Limits(time_home_limit_s=limit_s))
    return Asked(structure=structure, situation=situation, protocol=protocol)


def rows_of(asked: Asked, *trips: Trip, closed: str | None = None) -> list[dict[str, object]]:
    closures = single_closures(asked.structure, Situation())
    if closed is not None:
        closures = (Closure(ids=(closed,)),)
    found = run_study(closure_study(asked, trips, closures))
    return [{name: row[at] for name, at in _AT.items()} for row in found]


def tally_of(asked: Asked, *trips: Trip) -> Tally:
    closures = single_closures(asked.structure, Situation())
    return count_rows(asked.structure, run_study(closure_study(asked, trips, closures)))


def seconds(structure: Structure, start: str, goal: str) -> float:
    best = Answers(asked_of(structure)).best(Trip(starts=(start,), goal=goal))
    assert best is not None
    return best[1].seconds


def test_what_only_the_way_home_rests_on_has_a_row() -> None:
    structure = two_hatches()
    (row,) = rows_of(asked_of(structure), OUT, closed="H4")
    there_s, near_s = seconds(structure, "W1", "A1"), seconds(structure, "W1", "B1")
    assert near_s < there_s
    assert row["fate"] == "same way"
    assert row["extra_s"] == 0.0
    assert row["after_s"] == row["before_s"]
    # Half-way out it is as far to either hatch; with H4 gone the goal is farthest from home.
    assert row["before_home_s"] == pytest.approx(longest_of_the_way(structure))
    assert row["after_home_s"] == pytest.approx(there_s)
    assert row["caught_s"] == pytest.approx(there_s)


def longest_of_the_way(structure: Structure) -> float:
    """The longest of the least times to either hatch, from every hold of the way out."""
    answers = Answers(asked_of(structure))
    best = answers.best(OUT)
    assert best is not None
    ids = answers.ground().graph.grips.ids
    longest_s = 0.0
    for grip in best[1].grips.tolist():
        ways = [answers.best(Trip(starts=(ids[grip],), goal=hatch)) for hatch in ("A1", "B1")]
        longest_s = max(longest_s, min(way[1].seconds for way in ways if way is not None))
    return longest_s


@pytest.mark.parametrize("closed", ["H4", "T2"])
def test_a_loss_that_only_makes_home_too_late_is_unsafe(closed: str) -> None:
    """A hatch of which the tether point is lost is no home: nothing holds people there."""
    structure = two_hatches()
    limit_s = seconds(structure, "W1", "A1") - 1.0
    asked = asked_of(structure, limit_s=limit_s)
    (row,) = rows_of(asked, OUT, closed=closed)
    assert (row["fate"], row["after_home"], row["caught"]) == ("too late",) * 3
    told = f"it takes {ceil(limit_s + 1)} s home, and no more than {limit_s:.0f} s"
    assert told in str(row["why"])
    tally = tally_of(asked, OUT)
    one = next(one for one in tally.critical if one.closure == (closed,))
    assert [goal.id for goal in one.late] == [goal.id for goal in one.caught] == ["W1"]
    assert one.costs_goals == 1
    assert not one.cuts_off
    assert not tally.safe
    (point,) = tally.single_points
    assert {"H4", "T2"} <= {*point.late_with}
    assert not {"H4", "T2"} & {*point.elements}


def test_a_limit_just_met_is_met() -> None:
    structure = two_hatches()
    (row,) = rows_of(asked_of(structure), OUT, closed="H4")
    limit_s = float(str(row["after_home_s"]))
    (row,) = rows_of(asked_of(structure, limit_s=limit_s), OUT, closed="H4")
    assert (row["after_home"], row["caught"], row["why"]) == ("in time", "in time", None)


def test_who_is_out_when_the_only_way_is_lost_gets_home_by_the_other_hatch() -> None:
    """Closed before, W1 cannot be reached from A1; who is there already goes on to B1."""
    structure = two_hatches()
    (row,) = rows_of(asked_of(structure), OUT, closed="H2")
    assert (row["fate"], row["after_home"]) == ("no way", None)
    assert row["caught"] == "in time"
    assert row["caught_s"] == pytest.approx(seconds(structure, "W1", "B1"))


def test_who_is_out_when_all_ways_are_lost_has_none_home() -> None:
    (row,) = rows_of(asked_of(deck()), Trip(starts=("A1",), goal="W1"), closed="H2")
    assert (row["fate"], row["caught"], row["caught_s"]) == ("no way", "not known", None)
    assert row["before_home"] == "in time"


def test_who_holds_what_is_closed_is_not_looked_at() -> None:
    (row,) = rows_of(asked_of(deck()), Trip(starts=("A1",), goal="W1"), closed="S1")
    assert row["itself"]
    assert (row["after_home"], row["caught"]) == (None, "not checked")


def test_on_reels_home_is_back_along_the_lays() -> None:
    structure = deck()
    asked = asked_of(structure, "reel")
    answers = Answers(asked)
    times = TimesHome(answers, {})
    for trip in worksite_trips(structure):
        best = answers.best(trip)
        assert best is not None
        graph = answers.ground().graph
        held = best[1].grips.tolist()[::-1]
        back = [
            float(graph.moves.seconds[move])
            for tail, head in pairwise(held)
            for move in range(graph.moves.indptr[tail], graph.moves.indptr[tail + 1])
            if graph.moves.head[move] == head
        ]
        transfers_s = best[1].transfers * asked.situation.limits.transfer_s
        assert times.before(best[1]).seconds == pytest.approx(fsum(back) + transfers_s)


def test_who_is_out_on_a_reel_leaves_it_and_goes_on_to_the_other_hatch() -> None:
    """With H2 lost the line cannot be gone back along; the second hatch is near."""
    asked = asked_of(two_hatches(), "reel")
    by_closure = {row["closure"]: row for row in rows_of(asked, OUT)}
    row = by_closure["H2",]
    assert (row["fate"], row["caught"]) == ("no way", "in time")
    # The same hand-overs as on short tethers, and no transfers.
    answers = Answers(asked)
    best = answers.best(Trip(starts=("B1",), goal="W1"))
    assert best is not None
    assert row["caught_s"] == pytest.approx(best[1].seconds)
    assert ("H4",) not in by_closure, "the way home is back along the lays"


def test_who_is_out_on_a_reel_that_hangs_on_what_is_lost_has_no_way_home() -> None:
    """Without the tether point that the line is hooked on nothing holds them."""
    (row,) = rows_of(asked_of(two_hatches(), "reel"), OUT, closed="T1")
    assert (row["fate"], row["caught"], row["caught_s"]) == ("no way", "not known", None)


def with_zone(x_m: float, **told: object) -> Structure:
    """The same with a zone over the rails at x, 0.4 m wide, under the condition *on*."""
    zone = Zone.model_validate(
        {
            "id": "Z1",
            "when": ("on",),
            "volume": Box(center_m=(x_m, 0.0, -0.5), size_m=(0.4, 2.0, 2.0)),
            **told,
        }
    )
    content = {name: getattr(two_hatches(), name) for name in Structure.model_fields}
    return Structure.model_validate(
        content | {"zones": (zone,), "conditions": (Condition(id="on"),)}
    )


def test_a_zone_switched_on_over_a_line_leaves_no_time_home() -> None:
    (row,) = rows_of(asked_of(with_zone(4.7), "reel"), OUT, closed="on")
    assert (row["fate"], row["caught"], row["caught_s"]) == ("no way", "not known", None)


def test_a_zone_over_the_first_line_leaves_no_time_home_though_another_way_is_safe() -> None:
    """They went out from B1, of which the zone takes in the line; who goes later takes A1."""
    over = Box(center_m=(10.4, 0.17, -0.03), size_m=(0.2, 0.06, 0.2))
    structure = with_zone(10.4, volume=over, applies_to=("tether",))
    (row,) = rows_of(asked_of(structure, "reel"), *worksite_trips(structure), closed="on")
    assert (row["before_start"], row["after_start"], row["fate"]) == ("B1", "A1", "slower")
    assert (row["caught"], row["caught_s"]) == ("not known", None)


def test_a_zone_switched_on_for_bodies_alone_leaves_the_line_where_it_is() -> None:
    """They leave it and go on to the other hatch."""
    asked = asked_of(with_zone(4.7, applies_to=("body",)), "reel")
    (row,) = rows_of(asked, OUT, closed="on")
    best = Answers(asked).best(Trip(starts=("B1",), goal="W1"))
    assert best is not None
    assert (row["fate"], row["caught"]) == ("no way", "in time")
    assert row["caught_s"] == pytest.approx(best[1].seconds)


def test_a_zone_switched_on_elsewhere_changes_nothing_for_who_is_out() -> None:
    assert not rows_of(asked_of(with_zone(30.0), "reel"), OUT, closed="on")


def test_a_zone_to_slow_down_in_makes_the_way_back_longer() -> None:
    slow = with_zone(4.7, kind="slow-down", slow_factor=2.0, applies_to=("body",))
    (row,) = rows_of(asked_of(slow, "reel"), OUT, closed="on")
    assert (row["fate"], row["caught"]) == ("slower", "in time")
    # Back by the holds of the way out, which was chosen without the zone.
    assert float(str(row["caught_s"])) >= float(str(row["after_home_s"]))
    assert float(str(row["caught_s"])) > float(str(row["before_home_s"]))


def test_on_reels_a_way_from_elsewhere_has_no_time_home() -> None:
    asked = asked_of(two_hatches(), "reel")
    (reached,) = reached_goals(Answers(asked), [Trip(starts=("H1",), goal="W1")])
    assert reached.start is not None
    assert reached.home == "not checked"
    assert reached.home_s is None


def test_without_a_hatch_no_time_home_is_known() -> None:
    structure = deck(hatches=())
    asked = asked_of(structure)
    trip = Trip(starts=("H1",), goal="W2")
    (reached,) = reached_goals(Answers(asked), [trip])
    assert (reached.home, reached.home_s) == ("not known", None)
    told = [(row["after_home"], row["caught"]) for row in rows_of(asked, trip)]
    # There is one way only; who is at the goal when it closes would have none home anyhow.
    assert told == [(None, "not known"), (None, "not checked")]


def test_what_is_late_with_nothing_closed_is_no_fault_of_a_closure() -> None:
    asked = asked_of(deck(), limit_s=1.0)
    tally = tally_of(asked, *worksite_trips(deck()))
    assert all(not one.late and not one.caught for one in tally.critical)
    reached = reached_goals(Answers(asked), worksite_trips(deck()))
    assert {one.home for one in reached} == {"too late"}
