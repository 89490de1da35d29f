"""`gripway schema`: a JSON Schema of every document read and every answer given."""

import json
import re
from collections.abc import Iterator
from typing import Any, get_args

import pytest
from jsonschema import Draft202012Validator

from routing.cli.schema import DOCUMENTS, SCHEMAS, schema_of
from routing.cli.schema_keys import key_rows
from routing.limits import Limits
from routing.outings.plan_file.acts import ActKind
from tests.cli.command_ground import (
    EXAMPLES,
    assert_plain,
    assert_refused,
    raw_document,
    run,
    schema,
)


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


def test_without_a_name_it_lists_every_name_in_one_line() -> None:
    found = run("schema")
    assert (found.code, found.err) == (0, "")
    lines = found.out.splitlines()
    assert [line.split()[0] for line in lines] == list(SCHEMAS)
    assert all(line.endswith(".") for line in lines)
    assert lines[list(SCHEMAS).index("home")].split("  ", 1)[1].strip() == (
        "The answer of `gripway home --json`."
    )


def test_what_is_wrong_is_said_in_a_sentence() -> None:
    assert ", sight. See `gripway schema --help`." in run("schema", "foo").err
    assert ".. See" not in run("route", "no.toml").err


def test_limits_have_the_head_that_every_document_has() -> None:
    schema("limits").validate({"schema_version": 1, "length_unit": "ft", "reel_length": 55})
    assert not schema("limits").is_valid({"reel_length": 55})


def test_same_call_same_bytes() -> None:
    assert run("schema", "route") == run("schema", "route")


def _properties(part: Any, at: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield every property of a schema, wherever it stands, with its path."""
    inside: list[tuple[str, Any]] = []
    if isinstance(part, dict):
        for key, one in part.get("properties", {}).items():
            yield f"{at}.{key}", one
        inside = [(f"{at}.{key}", one) for key, one in part.items() if key != "default"]
    elif isinstance(part, list):
        inside = [(at, one) for one in part]
    for path, one in inside:
        yield from _properties(one, path)


class TestEveryKeyIsDescribed:
    @pytest.mark.parametrize("name", list(DOCUMENTS))
    def test_in_words_of_the_document(self, name: str) -> None:
        found = dict(_properties(json.loads(run("schema", name).out)))
        assert len(found) > 40
        told = {path: one.get("description", "").strip() for path, one in found.items()}
        assert not [path for path, text in told.items() if not text]
        memory = re.compile(r"\b\w+_m(_per_s)?\b|\[m\]|\[m/s\]")
        assert not {path: text for path, text in told.items() if memory.search(text)}

    def test_a_default_length_is_said_in_metres_not_as_a_bare_number(self) -> None:
        content = json.loads(run("schema", "structure").out)
        standoff = content["$defs"]["Handrail"]["properties"]["standoff"]
        assert "default" not in standoff
        assert "[length_unit]" in standoff["description"]
        assert "0.0635 m" in standoff["description"]

    def test_units_follow_the_names(self) -> None:
        kept = json.loads(run("schema", "structure").out)["$defs"]
        assert "[length_unit/s]" in kept["Person"]["properties"]["rate"]["description"]
        assert "[N m]" in kept["Restraint"]["properties"]["rating_nm"]["description"]
        assert "[deg]" in kept["Camera"]["properties"]["incidence_deg"]["description"]

    def test_keys_of_each_kind_of_act(self) -> None:
        acts = json.loads(run("schema", "plan").out)["$defs"]["Act"]["properties"]
        told = acts["does"]["description"]
        assert "tie must have item, using, minutes, may have at, attach, via." in told
        assert "wait must have after or minutes, may have at, via." in told
        assert all(f" {kind} " in told for kind in get_args(ActKind))


class TestKeysToRead:
    @pytest.mark.parametrize("name", list(DOCUMENTS))
    def test_every_key_of_every_record_has_a_row_with_its_meaning(self, name: str) -> None:
        content = schema_of(name)
        records = [content, *content.get("$defs", {}).values()]
        rows = key_rows(content)
        assert len(rows) == sum(len(one["properties"]) for one in records if "properties" in one)
        assert all(place and key and kind and meaning for place, key, kind, _, _, meaning in rows)
        assert sum(row[3] == "yes" for row in rows) == sum(
            len(one.get("required", ())) for one in records
        )

    def test_a_row_says_unit_need_and_default(self) -> None:
        rows = {row[:2]: row[2:] for row in key_rows(schema_of("structure"))}
        assert rows["handrails", "standoff"][:3] == ("number [length_unit]", "", "0.0635 m")
        assert rows["hatches", "position"][:3] == ("3 x number [length_unit]", "yes", "")
        assert rows["worksites.targets", "hands"][:3] == ("1 or 2", "", "1")
        assert rows["zones.volume (transmitter)", "power_w"][:2] == ("number [W]", "yes")
        assert rows["document", "handrails"][0] == "tables or CSV file"

    def test_printed_as_a_plain_table(self) -> None:
        found = run("schema", "plan", "--keys")
        assert (found.code, found.err) == (0, "")
        assert_plain(found.out)
        heads = found.out.splitlines()[0].split()
        assert heads == ["list", "key", "type", "required", "default", "meaning"]

    def test_for_documents_only(self) -> None:
        assert_refused(run("schema", "route", "--keys"), "route is an answer", "structure, limits")
        assert_refused(run("schema", "--keys"), "needs a NAME")
