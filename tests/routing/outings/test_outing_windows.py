"""Windows to hold still, acts done together and gates, attacked: each is kept, or told."""

from pathlib import Path

import pytest

from routing.outings.choosing.late import Late, plan_late
from routing.outings.plan_file.reader import read_outing
from routing.outings.translations import Ground
from structures.errors import InvalidDocumentError
from tests.routing.outings.outing_plans import act, codes, planned, write_plan

HOME = (
    act("home-1", "EV1", "move", at="hatch", way="recover"),
    act("home-2", "EV2", "move", at="hatch", way="recover"),
)
SWING = act("swing", "ground", "action", minutes=7, still=["EV1", "EV2"])


def gate(needs: str, opens: str = "") -> str:
    opened = f'opens = ["{opens}"]\n' if opens else ""
    return f'\n[[gates]]\nid = "g"\nneeds = [{needs}]\n{opened}'


def test_nothing_of_either_person_is_within_a_window(tmp_path: Path) -> None:
    """Who is on the way when it is to begin comes there first; the other one waits too."""
    plan = planned(
        tmp_path,
        act("far", "EV2", "work", at="W3", minutes=1),
        SWING,
        act("mid", "EV1", "work", at="H02", minutes=2),
        act("next", "EV2", "work", at="H01", minutes=1, no_earlier_min=3),
        *HOME,
    )
    rows = plan.answer.run_sheet
    (window,) = [row for row in rows if row.act == "swing" and row.kind == "act"]
    assert window.start_s == plan.schedule.end_s("far") > 60
    for row in rows:
        if row.act != "swing" and {*row.who} & {"EV1", "EV2"} and row.end_s > row.start_s:
            assert row.end_s <= window.start_s or row.start_s >= window.end_s, row


def test_time_lost_in_a_window_keeps_both_still_for_longer(tmp_path: Path) -> None:
    document = read_outing(
        write_plan(tmp_path, SWING, act("a", "EV1", "work", at="H01", minutes=1), *HOME)
    )
    ground = Ground(document.structure, document.outing, document.limits)
    answer = plan_late(document.outing, ground, Late(seconds=300, act="swing")).answer
    (window,) = [row for row in answer.run_sheet if row.act == "swing" and row.kind == "act"]
    assert window.end_s - window.start_s == 720.0
    assert min(row.start_s for row in answer.run_sheet if row.act == "a") == window.end_s


def test_a_window_longer_than_the_outing_breaks_both_limits(tmp_path: Path) -> None:
    long = SWING.replace("minutes = 7", "minutes = 600")
    assert codes(tmp_path, long, *HOME) == [
        ("over-planned-length", None),
        ("over-consumables", None),
    ]


def test_together_waits_for_who_is_late_and_says_for_whom(tmp_path: Path) -> None:
    slow = act("slow", "EV2", "work", at="W3", minutes=25)
    both = act("both", "EV1+EV2", "work", at="H02", beside="H01", minutes=5)
    plan = planned(tmp_path, slow, both, *HOME)
    (wait,) = [one for one in plan.schedule.waits if one.act == "both"]
    assert (wait.person, wait.waits_for) == ("EV1", "EV2")
    assert plan.schedule.start_s("both") > 25 * 60
    late = both.replace("minutes = 5", "minutes = 5\nno_later_min = 20")
    assert ("too-late", "both") in codes(tmp_path, slow, late, *HOME)


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        (
            # A gate that opens an act before what it needs: it never opens.
            (act("a", "EV1", "work"), gate('"b"', "a"), act("b", "EV1", "work")),
            "these wait for each other, so none can begin: a after g after b after a",
        ),
        (
            (
                act("a1", "EV1", "work", after=["b2"]),
                act("a2", "EV1", "work"),
                act("b1", "EV2", "work", after=["a2"]),
                act("b2", "EV2", "work"),
            ),
            "none can begin: a1 after b2 after b1 after a2 after a1",
        ),
        # It waits for who holds still, who waits for it.
        (
            (act("a", "EV1", "work", after=["swing"]), SWING),
            "these wait for each other, so none can begin",
        ),
        ((act("a", "EV1", "work"), gate("", "a")), "gates[0].needs: [] has 0 entries"),
        (
            (act("a", "EV1", "work"), gate('"a"', "zz")),
            "gates[0].opens[0]: no act has the id 'zz'",
        ),
        (
            (
                '\n[[get_aheads]]\nid = "more"\n',
                act("s", "EV1", "work", spare="more"),
                act("a", "EV1", "work"),
                gate('"s"', "a"),
            ),
            "gates[0].needs[0]: this waits for 's', which is part of the get-ahead 'more'",
        ),
        (
            (SWING.replace("minutes = 7", "minutes = 1e9"),),
            "min are not low, usual and high; give numbers that do not fall, from 0 to 1440",
        ),
        (
            (SWING.replace("minutes = 7", "minutes = 0"),),
            "people hold still for 0 min, which keeps nobody still; give the minutes of act swing",
        ),
        (
            (act("h", "EV1", "hold-still", minutes=[0, 0, 5]),),
            "people hold still for 0 min",
        ),
    ],
)
def test_what_can_never_be_is_refused(tmp_path: Path, parts: tuple[str, ...], said: str) -> None:
    with pytest.raises(InvalidDocumentError) as error:
        read_outing(write_plan(tmp_path, *parts, *HOME))
    assert said in str(error.value)
