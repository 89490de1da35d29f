"""Result records: plain values that are as strict as what reads documents."""

import json
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pytest

from routing.paths.answers.result_base import Result
from routing.paths.answers.results import GapMargin, InputDigest, Route, Totals
from routing.paths.route import find_route
from structures.findings import Finding
from tests.routing.paths.route_graphs import deck


class Told(Result):
    """A record of each kind of value."""

    name: str
    seconds: float
    holds: int | None = None
    gap_m: float | None = None
    inside: InputDigest | None = None
    findings: tuple[Finding, ...] = ()
    by_name: dict[str, int | None] | None = None


def test_numbers_become_what_their_field_says() -> None:
    told = Told(name="a", seconds=np.float64(2.5), holds=np.int64(3), gap_m=0)
    assert [type(one) for one in (told.seconds, told.holds, told.gap_m)] == [float, int, float]
    assert json.dumps(told.to_document()) == (
        '{"name": "a", "seconds": 2.5, "holds": 3, "gap_m": 0.0, "findings": []}'
    )


@pytest.mark.parametrize("number", [np.nan, np.inf, -np.inf])
def test_what_is_no_number_is_refused(number: float) -> None:
    with pytest.raises(ValueError, match="gap_m of a Told is"):
        Told(name="a", seconds=1.0, gap_m=number)
    with pytest.raises(ValueError, match="seconds of a Told"):
        replace(Told(name="a", seconds=1.0), seconds=number)


def test_records_are_closed_and_frozen() -> None:
    with pytest.raises(TypeError, match="Told has no field place"):
        Told(name="a", seconds=1.0, place="b")
    with pytest.raises(TypeError, match="Told needs a value for seconds"):
        Told(name="a")
    told = Told(name="a", seconds=1.0)
    with pytest.raises(FrozenInstanceError):
        told.name = "b"
    assert told == Told(seconds=1.0, name="a")
    assert told != replace(told, holds=0)
    assert Told.field_names()[:2] == ("name", "seconds")


def test_keys_that_do_not_apply_are_left_out_of_documents_and_kept_in_rows() -> None:
    note = Finding(code="short-rail", severity="notes", message="m")
    told = Told(
        name="a",
        seconds=1.0,
        inside=InputDigest(name="f", sha256="0"),
        findings=(note,),
        by_name={"b": None},
    )
    document = told.to_document()
    assert list(document) == ["name", "seconds", "inside", "findings", "by_name"]
    assert document["inside"] == {"name": "f", "sha256": "0"}
    assert "value" not in document["findings"][0]
    assert document["by_name"] == {"b": None}
    assert list(told.to_row()) == list(Told.field_names())
    assert told.to_row()["holds"] is None


def test_documents_are_read_as_strictly_as_they_are_described() -> None:
    told = Told(name="a", seconds=1.0, findings=(), holds=4)
    assert Told.from_document(told.to_document()) == told
    for wrong in ({"more": 1}, {"seconds": float("nan")}, {"holds": "many"}):
        with pytest.raises(ValueError, match=next(iter(wrong))):
            Told.from_document(told.to_document() | wrong)
    assert Told.json_schema()["additionalProperties"] is False


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_every_value_of_a_route_is_of_the_type_its_field_says(protocol: str) -> None:
    route = find_route(deck(), "A1", "W1", via=("W2",), protocol=protocol)
    read = Route.from_document(json.loads(json.dumps(route.to_document())))
    assert read == route
    # 1 == 1.0 == True, so the same once more as text.
    assert json.dumps(read.to_document()) == json.dumps(route.to_document())
    assert isinstance(read.totals, Totals)
    assert isinstance(read.margins.gap, GapMargin)
