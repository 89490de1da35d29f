"""What of closures is not known is never taken for safe."""

from typing import Any

import pytest

from routing.cli.closures_answer import home_of
from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.paths.answers.results import Route, SiteRef
from routing.paths.route import RouteOptions, find_route
from routing.studies.closures.answers import Answers, Trip
from routing.studies.closures.closure import Closure
from routing.studies.closures.ranking import count_rows
from routing.studies.closures.reached import ReachedGoal
from routing.studies.closures.sweep import COLUMNS
from routing.studies.closures.times_home import NOT_CHECKED, TimeHome, TimesHome
from routing.studies.running.study import Row
from structures.elements import TetherPoint
from tests.routing.paths.route_graphs import deck
from tests.routing.studies.test_closures_times_home import asked_of, rows_of, two_hatches


def row_of(**told: Any) -> Row:
    """A row of a study of closures about H1 and the worksite W1."""
    named: dict[str, Any] = {"closure": ("H1",), "kind": "handrail", "worksite": "W1"}
    named |= {"itself": False, **told}
    return tuple(named.get(column.name) for column in COLUMNS)


def test_too_late_where_nothing_was_known_before_is_late() -> None:
    row = row_of(
        fate="too late", before_home="not checked", after_home="too late", caught="not checked"
    )
    tally = count_rows(deck(), [row])
    assert [goal.id for one in tally.critical for goal in one.late] == ["W1"]
    assert not tally.safe


def test_who_was_not_looked_at_is_not_in_time() -> None:
    reached = ReachedGoal(goal=SiteRef(worksite="W1"), safe=True, home="in time")
    homes = {"fate": "other way", "before_home": "in time", "after_home": "in time"}
    for caught, expected in (("in time", "in time"), ("not checked", "not checked")):
        tally = count_rows(deck(), [row_of(**homes, caught=caught)])
        assert home_of([reached], tally) == expected


def test_who_cannot_be_looked_at_has_a_row(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without T1 nothing changes for who goes out from B1 and back there."""
    out = Trip(starts=("B1",), goal="W1")
    assert not rows_of(asked_of(two_hatches()), out, closed="T1")
    known = TimesHome.caught

    def caught(times: TimesHome, trip: Trip, closure: Closure | None = None) -> TimeHome:
        return known(times, trip) if closure is None else NOT_CHECKED

    monkeypatch.setattr(TimesHome, "caught", caught)
    (row,) = rows_of(asked_of(two_hatches()), out, closed="T1")
    assert (row["fate"], row["caught"]) == ("same way", "not checked")


def test_a_point_that_is_not_rated_stands_in_for_the_only_one_that_is() -> None:
    """From a handrail, as `route --close` has it: there is a way, and it is not safe."""
    weak = TetherPoint(id="T3", position_m=(4.4, 0.2, 0.0))
    structure = deck(tether_points=(*deck().tether_points, weak))
    answers, trip = Answers(asked_of(structure, "reel")), Trip(starts=("H2",), goal="W1")
    intact = answers.best(trip)
    assert intact is not None
    assert (intact[1].safe, intact[1].chain) == (True, ("T2",))
    found = answers.best(trip, Closure(ids=("T2",)))
    graph = build_graph(structure, Situation(closed=("T2",)))
    route = find_route(graph, "H2", "W1", protocol="reel", options=RouteOptions(explain=False))
    assert isinstance(route, Route)
    assert found is not None
    assert (found[1].safe, found[1].chain) == (False, ("T3",))
    assert not route.safe
    assert found[1].seconds == pytest.approx(route.totals.seconds)
    assert [graph.grips.ids.index(one.grip) for one in route.grips] == found[1].grips.tolist()
    assert answers.best(trip, Closure(ids=("T2", "T3"))) is None
