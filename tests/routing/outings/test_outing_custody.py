"""Custody of items: every rule with a plan that keeps it and one that breaks it."""

from pathlib import Path

import pytest

from tests.routing.outings.outing_plans import act, codes, found, planned

LAMP = act("t-lamp", "EV1", "fetch", item="lamp", at="H01")
BAG = act("t-bag", "EV1", "fetch", item="bag", at="H01")
STOOL = act("t-stool", "EV1", "fetch", item="stool", at="H01")
SET_UP = act("set", "EV1", "set-up", item="stool", at="SK4")
IN = act("in", "EV1", "get-in", item="stool")
TIE = act("tie", "EV1", "tie", item="door", using=["line-1"], at="W1")
LET_GO = act("free", "ground", "action", lets_go=["door"], after=["tie"])

CASES = {
    "a tool is fetched out of a bag that is there": (
        [act("w", "EV1", "fetch", item="wrench", out_of="bag", at="H01")],
        [],
    ),
    "a tool is not where it is fetched": (
        [act("w", "EV1", "fetch", item="lamp", at="H02")],
        [("item-not-there", "w")],
    ),
    "a tool is not in what it is fetched out of": (
        [act("w", "EV1", "fetch", item="lamp", out_of="bag", at="H01")],
        [("item-not-there", "w")],
    ),
    "a bag is not where something is fetched out of it": (
        [act("w", "EV1", "fetch", item="wrench", out_of="bag", at="H02")],
        [("item-not-there", "w")],
    ),
    "two loads in the hands": (
        [LAMP, act("p", "EV1", "fetch", item="pin", at="H01")],
        [("hands-full", "p")],
    ),
    "one in the hands, one on the suit": (
        [LAMP, act("p", "EV1", "fetch", item="pin", at="H01", hung=True)],
        [],
    ),
    "more on the suit than may hang there": (
        [
            act("p", "EV1", "fetch", item="pin", at="H01", hung=True),
            act("l", "EV1", "fetch", item="lamp", at="H01", hung=True),
        ],
        [("too-many-hung", "l")],
    ),
    "tethers that come off a payload hang on the suit too": (
        [
            act("p", "EV1", "fetch", item="pin", at="H01", hung=True),
            TIE,
            act("l", "EV1", "fetch", item="lamp", at="H01", hung=True),
            act("r", "EV1", "release", item="door", using=["line-1"], at="W1"),
        ],
        [("too-many-hung", "r")],
    ),
    "what was put down is not held": (
        [
            LAMP,
            act("d", "EV1", "put", item="lamp", at="H02"),
            act("c", "EV1", "carry", item="lamp", at="H01"),
        ],
        [("item-not-held", "c")],
    ),
    "from hand to hand, both there": (
        [LAMP, act("g", "EV1+EV2", "put", item="lamp", into="EV2", at="H01", beside="H01@0.653")],
        [],
    ),
    "given to somebody who is not there": (
        [LAMP, act("g", "EV1", "put", item="lamp", into="EV2", at="H01")],
        [("not-given", "g")],
    ),
    "given to somebody with full hands": (
        [
            LAMP,
            act("p", "EV2", "fetch", item="pin", at="H01"),
            act("g", "EV1+EV2", "put", item="lamp", into="EV2", at="H01", beside="H01@0.653"),
        ],
        [("hands-full", "g")],
    ),
    "a bag with too many items": (
        [
            BAG,
            act("p", "EV1", "fetch", item="pin", at="H01", hung=True),
            act("1", "EV1", "put", item="pin", into="bag"),
            act("l", "EV1", "fetch", item="lamp", at="H01", hung=True),
            act("2", "EV1", "put", item="lamp", into="bag"),
        ],
        [("bag-over-count", "2")],
    ),
    "a bag that is elsewhere": (
        [LAMP, act("1", "EV1", "put", item="lamp", into="bag", at="H02")],
        [("bag-not-there", "1")],
    ),
    "into what is no bag": (
        [LAMP, act("1", "EV1", "put", item="lamp", into="pin", at="H01")],
        [("no-bag", "1")],
    ),
    "a bag into itself": (
        [BAG, act("1", "EV1", "put", item="bag", into="bag")],
        [("no-bag", "1")],
    ),
    "a tool at hand, in a bag on the way": (
        [
            act("t-bag", "EV1", "fetch", item="bag", at="H01", hung=True),
            act("k", "EV1", "work", at="W3", using=["wrench"]),
        ],
        [],
    ),
    "work with a bag in the hands": (
        [BAG, act("k", "EV1", "work", at="W3", using=["wrench"])],
        [("hands-full", "k")],
    ),
    "work with what is in the hands": ([LAMP, act("k", "EV1", "work", using=["lamp"])], []),
    "into a restraint with a load": (
        [
            act("t-stool", "EV2", "fetch", item="stool", at="H01"),
            act("set", "EV2", "set-up", item="stool", at="SK4"),
            act("off", "EV2", "move", at="H02"),
            LAMP,
            act("wait", "EV1", "wait", after=["off"]),
            act("in", "EV1", "get-in", item="stool", at="SK4"),
        ],
        [("hands-full", "in")],
    ),
    "tied with a load in the hands": (
        [LAMP, act("tie", "EV1", "tie", item="door", using=["line-1"], at="W1")],
        [("hands-full", "tie")],
    ),
    "tied by a tool": (
        [
            act("t-lamp", "EV1", "fetch", item="lamp", at="H01", hung=True),
            act("tie", "EV1", "tie", item="door", using=["lamp"], at="W1"),
        ],
        [("no-tether", "tie")],
    ),
    "a lamp is no cable": (
        [LAMP, act("lay", "EV1", "lay-cable", item="lamp", at="H01", to="W3")],
        [("no-cable", "lay")],
    ),
    "two people into one restraint together": (
        [STOOL, SET_UP, act("in", "EV1+EV2", "get-in", item="stool", at="SK4")],
        [("same-place", "set"), ("restraint-in-use", "in")],
    ),
    "a tool left behind": (
        [act("k", "EV1", "work", at="W3", using=["wrench"])],
        [("tool-not-there", "k")],
    ),
    "a restraint set up and used": (
        [
            STOOL,
            SET_UP,
            IN,
            act("k", "EV1", "work", in_restraint=True),
            act("out", "EV1", "get-out", item="stool"),
            act("go", "EV1", "move", at="H01"),
        ],
        [],
    ),
    "a socket taken by another restraint": (
        [STOOL, act("set", "EV1", "set-up", item="stool", at="SK2")],
        [("socket-taken", "set")],
    ),
    "a restraint strapped to a handrail where another is": (
        [
            STOOL,
            act("set", "EV1", "put", item="stool", at="H02"),
            act("b", "EV1", "fetch", item="bench", at="SK2"),
            act("put", "EV1", "put", item="bench", at="H02"),
        ],
        [],
    ),
    "a restraint put where another is": (
        [STOOL, act("set", "EV1", "put", item="stool", at="W3")],
        [("socket-taken", "set")],
    ),
    "a tool is no restraint": (
        [LAMP, act("set", "EV1", "set-up", item="lamp", at="SK4")],
        [("no-restraint", "set")],
    ),
    "into a restraint that is not set up": (
        [STOOL, act("in", "EV1", "get-in", item="stool", at="SK4")],
        [("restraint-not-there", "in")],
    ),
    "off with the feet in a restraint": (
        [STOOL, SET_UP, IN, act("go", "EV1", "move", at="H01")],
        [("moves-in-restraint", "go")],
    ),
    "out of a restraint never got into": (
        [STOOL, SET_UP, act("out", "EV1", "get-out", item="stool")],
        [("not-in-restraint", "out")],
    ),
    "work that needs a restraint": (
        [act("k", "EV1", "work", at="W3", in_restraint=True)],
        [("not-in-restraint", "k")],
    ),
    "two people in one restraint": (
        [STOOL, SET_UP, IN, act("in2", "EV2", "get-in", item="stool", at="SK4", after=["in"])],
        [("same-place", "set"), ("restraint-in-use", "in2")],
    ),
    "a restraint fetched under somebody": (
        [STOOL, SET_UP, IN, act("take", "EV2", "fetch", item="stool", at="SK4", after=["in"])],
        [("same-place", "set"), ("restraint-in-use", "take")],
    ),
    "held, tied, let go, cinched, untied": (
        [
            TIE,
            LET_GO,
            act("home", "EV1", "cinch", item="door", after=["free"]),
            act("off", "EV1", "release", item="door", using=["line-1"]),
        ],
        [],
    ),
    "let go before it is tied": (
        [act("free", "ground", "action", lets_go=["door"])],
        [("item-adrift", "free")],
    ),
    "cinched while the arm holds it": (
        [TIE, act("home", "EV1", "cinch", item="door")],
        [("cinched-while-held", "home")],
    ),
    "cinched without a tether": (
        [act("home", "EV1", "cinch", item="crate", at="W3")],
        [("nothing-to-cinch", "home")],
    ),
    "untied before it is home": (
        [TIE, LET_GO, act("off", "EV1", "release", item="door", using=["line-1"], after=["free"])],
        [("item-adrift", "off")],
    ),
    "untied of a tether that is not on it": (
        [TIE, act("off", "EV1", "release", item="door", using=["line-2"])],
        [("tether-not-on-it", "off")],
    ),
    "a tether used twice": (
        [TIE, act("on", "EV1", "tie", item="crate", using=["line-1"], at="W3")],
        [("tether-used-twice", "on")],
    ),
    "fetched while it is tied": (
        [
            act("on", "EV1", "tie", item="crate", using=["line-1"], at="W3"),
            act("take", "EV1", "fetch", item="crate"),
        ],
        [("still-tied", "take")],
    ),
    "let go of what nobody holds": (
        [act("free", "ground", "action", lets_go=["crate"])],
        [("not-held-by-holder", "free")],
    ),
    "the arm takes hold of what is there": (
        [act("hold", "ground", "action", holds=["crate"])],
        [],
    ),
    "the arm takes hold while it holds something": (
        [
            LAMP,
            act("d", "EV1", "put", item="lamp", at="W1"),
            act("hold", "ground", "action", holds=["lamp"], after=["d"]),
        ],
        [("holder-in-use", "hold")],
    ),
    "the arm takes hold of what is elsewhere": (
        [act("hold", "ground", "action", holds=["lamp"])],
        [("nothing-to-hold-it", "hold")],
    ),
    "a cable laid by who has it": (
        [
            act("t", "EV1", "fetch", item="drum", at="H01"),
            act("lay", "EV1", "lay-cable", item="drum", at="H01", to="W3"),
        ],
        [],
    ),
    "a cable laid by who has it not": (
        [act("lay", "EV1", "lay-cable", item="drum", at="H01", to="W3")],
        [("item-not-held", "lay")],
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_each_rule(tmp_path: Path, case: str) -> None:
    parts, wanted = CASES[case]
    assert codes(tmp_path, *parts) == wanted


def test_who_is_only_on_time_by_the_clock_is_warned(tmp_path: Path) -> None:
    late = act("take", "EV2", "fetch", item="lamp", at="H02", no_earlier_min=30)
    parts = [LAMP, act("d", "EV1", "put", item="lamp", at="H02")]
    (one,) = found(tmp_path, *parts, late)
    assert (one.code, one.severity, one.act) == ("only-the-clock", "warns", "take")
    assert one.remedy == "add after = ['d'] to act take"
    gated = act("take", "EV2", "fetch", item="lamp", at="H02", after=["d"])
    assert codes(tmp_path, *parts, gated) == []


def test_two_restraints_in_one_socket_from_the_start_are_said(tmp_path: Path) -> None:
    from tests.routing.outings.outing_plans import HEAD

    for place, expected in (("SK2", True), ("W3", True), ("H01", False)):
        head = HEAD.replace(
            'id = "stool"\nkind = "restraint"\nat = "H01"',
            f'id = "stool"\nkind = "restraint"\nat = "{place}"',
        )
        taken = [
            one
            for one in found(tmp_path, act("k", "EV1", "work"), head=head)
            if one.code == "socket-taken"
        ]
        assert [one.elements for one in taken] == ([("stool", "bench", "SK2")] if expected else [])


def test_who_stays_in_a_restraint_is_said(tmp_path: Path) -> None:
    answer = planned(tmp_path, STOOL, SET_UP, IN).answer
    (one,) = [f for f in answer.findings if f.code == "ends-in-restraint"]
    assert (one.act, one.person, one.elements) == ("in", "EV1", ("stool",))
    answer = planned(tmp_path, STOOL, SET_UP, IN, act("o", "EV1", "get-out", item="stool")).answer
    assert "ends-in-restraint" not in {f.code for f in answer.findings}


def test_what_hangs_on_a_suit_from_the_start_counts(tmp_path: Path) -> None:
    from tests.routing.outings.outing_plans import HEAD

    head = HEAD.replace("hangs = 2", "hangs = 0")
    (one,) = found(tmp_path, act("k", "EV1", "work"), head=head)
    assert (one.code, one.act, one.value, one.limit) == ("too-many-hung", None, 1.0, 0.0)
    assert one.elements == ("line-1",)


def test_what_comes_later_is_not_there(tmp_path: Path) -> None:
    parts = [LAMP, act("d", "EV1", "put", item="lamp", at="H02")]
    early = act("take", "EV2", "fetch", item="lamp", at="H02", minutes=60)
    (one,) = found(tmp_path, *parts, early)
    assert (one.code, one.act) == ("item-not-there", "take")
    assert "comes there only at" in one.message


def test_what_ends_elsewhere_is_said_unless_it_may(tmp_path: Path) -> None:
    from tests.routing.outings.outing_plans import HEAD

    strict = HEAD.replace(
        'id = "lamp"\nkind = "tool"\nat = "H01"\nends_anywhere = true',
        'id = "lamp"\nkind = "tool"\nat = "H01"',
    )
    (one,) = found(tmp_path, LAMP, act("d", "EV1", "put", item="lamp", at="H02"), head=strict)
    assert (one.code, one.act, one.elements) == ("item-ends-elsewhere", "d", ("lamp", "H01"))
    back = act("b", "EV1", "put", item="lamp", at="H01")
    assert codes(tmp_path, LAMP, back, head=strict) == []


def test_every_item_has_one_place_at_every_moment(tmp_path: Path) -> None:
    answer = planned(tmp_path, LAMP, act("d", "EV1", "put", item="lamp", at="H02")).answer
    moves = [one for one in answer.ledger if one.item == "lamp"]
    assert [(m.place, m.how) for m in moves] == [
        ("H01", "stowed"),
        ("EV1", "hands"),
        ("H02", "stowed"),
    ]
    assert [m.at_s for m in moves] == sorted(m.at_s for m in moves)
