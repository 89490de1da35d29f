"""Frozen values: what a dataclass promises, without a method of their own in every class."""

import copy
import pickle
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, is_dataclass, replace
from functools import cached_property
from typing import Any

import pytest

from structures.frozen import frozen


@frozen()
class Gap:
    """In order, with a default."""

    start: str
    length_m: float = 0.5

    @cached_property
    def twice_m(self) -> float:
        return 2 * self.length_m


@frozen(kw_only=True)
class Kept:
    """By name only, with a default of its own each time, and checked."""

    names: list[str] = field(default_factory=list)
    count: int = field(default=0, repr=False)

    def __post_init__(self) -> None:
        if self.count < 0:
            raise ValueError("less than none")


@frozen(eq=False)
class Held:
    """Compared by identity."""

    value: float


@frozen()
class LongGap(Gap):
    """With a field more than its base."""

    note: str = ""


@dataclass(frozen=True)
class Usual:
    """The library's own, to compare with."""

    start: str
    length_m: float = 0.5


def test_values_and_defaults() -> None:
    assert (Gap("a").start, Gap("a").length_m) == ("a", 0.5)
    assert Gap("a", 2.0) == Gap(length_m=2.0, start="a")
    assert LongGap("a", 1.0, "n") == LongGap("a", 1.0, note="n")
    assert Kept(count=3).count == 3
    one, other = Kept(), Kept()
    assert one.names is not other.names


def test_equality_and_hash_go_by_class_and_value() -> None:
    assert hash(Gap("a")) == hash(Gap("a", 0.5))
    assert Gap("a") != Gap("b")
    assert Gap("a") != LongGap("a")
    assert Gap("a") != ("a", 0.5)
    assert Gap("a").twice_m == 1.0
    seen = Gap("a")
    assert seen.twice_m == 1.0
    assert seen == Gap("a")
    assert Held(1.0) != Held(1.0)
    assert len({Held(1.0), Held(1.0), Gap("a"), Gap("a")}) == 3


def test_nothing_can_be_changed() -> None:
    gap: Any = Gap("a")
    with pytest.raises(FrozenInstanceError, match="start"):
        gap.start = "b"
    with pytest.raises(FrozenInstanceError, match="start"):
        del gap.start
    with pytest.raises(FrozenInstanceError, match="more"):
        gap.more = 1


@pytest.mark.parametrize(
    ("cls", "args", "given", "said"),
    [
        (Gap, (), {}, "needs a value for start"),
        (Gap, ("a", 1.0, 2.0), {}, "takes 2 values by position, not 3"),
        (Gap, ("a",), {"start": "b"}, "start twice"),
        (Gap, ("a",), {"size": 1}, "no field size; it has start, length_m"),
        (Gap, (), {"size": 1}, "no field size"),
        (Kept, ([],), {}, "takes 0 values by position"),
        (LongGap, (), {"note": ""}, "needs a value for start"),
    ],
)
def test_a_wrong_call_says_what_is_wrong(
    cls: Any, args: tuple[object, ...], given: dict[str, object], said: str
) -> None:
    with pytest.raises(TypeError, match=said):
        cls(*args, **given)


def test_checks_run() -> None:
    with pytest.raises(ValueError, match="less than none"):
        Kept(count=-1)
    with pytest.raises(ValueError, match="less than none"):
        replace(Kept(), count=-1)


def test_a_kept_hash_is_that_of_the_fields_and_no_field() -> None:
    @frozen(keep_hash=True)
    class Place:
        grip: int
        line_m: float = 0.0

    one, other = Place(3), Place(3)
    assert hash(one) == hash(other) == hash((3, 0.0))
    assert one == other
    assert hash(replace(one, line_m=2.0)) == hash((3, 2.0))
    assert asdict(one) == {"grip": 3, "line_m": 0.0}
    assert repr(one) == repr(other)


def test_the_library_takes_it_for_a_dataclass() -> None:
    assert is_dataclass(Gap)
    assert [one.name for one in fields(Gap)] == ["start", "length_m"]
    assert replace(Gap("a"), length_m=1.0) == Gap("a", 1.0)
    assert asdict(LongGap("a")) == {"start": "a", "length_m": 0.5, "note": ""}
    assert repr(Gap("a")) == repr(Usual("a")).replace("Usual", "Gap")
    assert repr(Kept(count=2)) == "Kept(names=[])"
    match Gap("a"):
        case Gap(start, length_m):
            assert (start, length_m) == ("a", 0.5)


@pytest.mark.parametrize("value", [Gap("a", 3.0), Kept(names=["n"]), LongGap("b")])
def test_copies_and_travels(value: Any) -> None:
    assert copy.copy(value) == value
    assert copy.deepcopy(value) == value
    assert pickle.loads(pickle.dumps(value)) == value  # noqa: S301 (our own bytes)
