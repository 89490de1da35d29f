"""`gripway schema`: a JSON Schema of every document read and every answer given."""

import json

import pytest
from jsonschema import Draft202012Validator

from routing.cli.schema import SCHEMAS
from routing.limits import Limits
from tests.cli.command_ground import EXAMPLES, assert_refused, raw_document, run, schema


@pytest.mark.parametrize("name", list(SCHEMAS))
def test_each_is_a_schema_that_refuses_unknown_keys(name: str) -> None:
    content = json.loads(run("schema", name).out)
    Draft202012Validator.check_schema(content)
    assert not schema(name).is_valid({"no such key": 1})
    assert not schema(name).is_valid([])


@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_examples_are_valid_documents(example: str) -> None:
    schema("structure").validate(raw_document(EXAMPLES[example]))


def test_spoilt_documents_are_not() -> None:
    document = raw_document(EXAMPLES["small"])
    for spoilt in (
        document | {"handrial": []},
        document | {"name": 7},
        {key: value for key, value in document.items() if key != "revision"},
    ):
        assert not schema("structure").is_valid(spoilt)


def test_limits_are_described_with_their_sources() -> None:
    content = json.loads(run("schema", "limits").out)
    assert len(content["properties"]) >= len(Limits.model_fields)
    assert "SP-2017-634" in content["properties"]["reel_length"]["source"]


def test_unknown_name_lists_what_there_is() -> None:
    assert_refused(run("schema", "rout"), "'rout'", "route, reach")


def test_same_call_same_bytes() -> None:
    assert run("schema", "route") == run("schema", "route")
