"""The line of every key: against texts written so that each value is its own line number."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from structures.files.json_lines import locate_json
from structures.files.toml_lines import locate_toml
from structures.files.toml_text import toml_text
from tests.draws import draws

QUICK = settings(deadline=None, derandomize=True, max_examples=draws(100))

# Every number in this text is the number of its line.
NUMBERED = '''\
a = 1 # a comment with [brackets] and "quotes"
"b.c" = 2
d.e = 3
d . 'f' = 4

[table]
g = 7
h = [8, 8,
  9, # = ] }
  [10, { i = 10, "j" = [10] }],
]
k = """
a = 0
[not.a.table]
\\""" ] """
l = \'\'\'
[[neither]]
\'\'\'
m = 19
n = 'it is "x" = [' # '
o = { p = 21, q.r = 21, s = [{ t = 21 }, { t = 21 }] }

[[lists]]
u = 24
[[lists]]
[[lists.inner]]
v = 27
[[lists.inner]]
v = 29
[lists.table]
w = 31
  [ "deep" . er ]
x = 33
[[lists]]
u = 35
y = 1979-05-27 07:32:00
z = 37
'''


def numbers(value: Any, path: tuple[str | int, ...] = ()) -> dict[tuple[str | int, ...], int]:
    if isinstance(value, dict):
        found = [numbers(one, (*path, key)) for key, one in value.items()]
    elif isinstance(value, list):
        found = [numbers(one, (*path, i)) for i, one in enumerate(value)]
    else:
        return {path: value} if isinstance(value, int) else {}
    return {key: line for one in found for key, line in one.items()}


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_lines_of_a_toml_text(end: str) -> None:
    text = NUMBERED.replace("\n", end)
    lines = locate_toml(text)
    expected = numbers(tomllib.loads(text))
    assert len(expected) == 23
    assert {path: lines.get(path) for path in expected} == expected
    assert lines["lists", 1] == 25
    assert lines["lists", 2] == 34
    assert lines["deep", "er"] == 32


def paths_of(value: Any, path: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    inner: list[Any] = []
    if isinstance(value, dict):
        inner = list(value.items())
    elif isinstance(value, list):
        inner = list(enumerate(value))
    return {path}.union(*(paths_of(one, (*path, key)) for key, one in inner))


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=6)
values: st.SearchStrategy[Any] = st.recursive(
    st.booleans() | st.integers(-99, 99) | texts,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=10,
)


@QUICK
@given(st.dictionaries(texts, values, max_size=4))
def test_every_path_of_a_document_is_found(document: dict[str, Any]) -> None:
    assert set(locate_toml(toml_text(document))) | {()} == paths_of(document)
    for indent in (None, 1):
        found = locate_json(json.dumps(document, indent=indent, ensure_ascii=False))
        assert set(found.lines) == paths_of(document)
        assert found.doubled == []


def test_lines_of_a_json_text() -> None:
    text = '{\n"a": 2, "b":\n[3, {"c": 3,\n"d": "x\\"]\\n", "e": 4}], "f": {\n}}'
    found = locate_json(text).lines
    expected = numbers(json.loads(text))
    assert expected == {("a",): 2, ("b", 0): 3, ("b", 1, "c"): 3, ("b", 1, "e"): 4}
    assert {path: found[path] for path in expected} == expected
    assert found["b", 1, "d"] == 4


def test_keys_given_twice_in_a_json_text() -> None:
    text = '{"a": [{"b": 1,\n"b": 2}, {"b": 3}],\n"a": 0}'
    assert locate_json(text).doubled == [(("a", 0, "b"), 2), (("a",), 3)]


def test_good_document_has_a_line_for_every_path() -> None:
    text = (Path(__file__).parent / "broken" / "good.toml").read_text()
    assert set(locate_toml(text)) | {()} == paths_of(tomllib.loads(text))
