"""From the text of a TOML or JSON document to plain tables, lists and values."""

import re
from pathlib import Path
from typing import Any, NoReturn

from structures.errors import InvalidDocumentError, Problem
from structures.files.faults import shown
from structures.files.sources import Source

__all__ = ["LARGE_TEXT", "SUFFIXES", "check_lists", "parse", "suffix_of", "suffix_of_document"]

SUFFIXES = (".toml", ".json")
"""The suffixes that say how a document is written."""

LARGE_TEXT = 1024 * 1024
"""Documents of fewer characters cannot hold enough values to take long."""

_MOST_IN_A_LIST = 100_000
_MOST_KEYS = 1000

_MOST_DOTS = 16
# A dotted key of n parts costs the TOML parser n squared steps.
_LONG_LINE = 200
_DOTTED = (
    rf"(?:^|[\[{{,])[ \t]*(?:(?:[\w-]+|\"[^\"\n]*\"|'[^'\n]*')[ \t]*\.[ \t]*){{{_MOST_DOTS + 1}}}"
)

_TOML_REMEDIES = (
    ("twice", "give each key and each table once; lists of tables have double brackets [[...]]"),
    ("overwrite", "give each key once, and do not use it both for a value and for a table"),
    ("mutate", "give each key once, and do not add to a table written in braces"),
    ("Expected '='", 'write key = value, one on a line, for instance name = "Depot"'),
    ("Invalid value", 'put texts in "quotes"; write numbers as 2.5, Booleans as true or false'),
    ("Unclosed array", "close the list with ]"),
    ("Unclosed inline", "close the table with } on the same line"),
    ("Unterminated string", "close the text with a quote on the same line"),
    ("Illegal character '\\n'", "close the text with a quote on the same line"),
    ("hex value", "write a backslash as \\\\, or use 'single quotes'"),
    ("Illegal character", "write line breaks as \\n and other control characters as \\uXXXX"),
    ("escape", "write a backslash as \\\\, or use 'single quotes'"),
)


def suffix_of(name: str) -> str:
    """Return the suffix of a document name, in lower case.

    Raises
    ------
    InvalidDocumentError
        It is not one of `SUFFIXES`.
    """
    suffix = name[name.rfind(".") :].lower() if "." in name else ""
    if suffix not in SUFFIXES:
        problem = Problem(
            place=name,
            message=f"the suffix {suffix!r} does not say how the document is written",
            remedy="name it .toml or .json",
        )
        raise InvalidDocumentError((problem,))
    return suffix


def suffix_of_document(path: Path) -> str:
    """Return the suffix of a document that is to be read, in lower case.

    Raises
    ------
    InvalidDocumentError
        It is a folder, or its suffix is not one of `SUFFIXES`.
    """
    if path.is_dir():
        problem = Problem(
            place=str(path),
            message="this is a folder, not a document",
            remedy="name the .toml or .json file inside it",
        )
        raise InvalidDocumentError((problem,))
    return suffix_of(path.name or str(path))


def parse(source: Source) -> dict[str, Any]:
    """Return the document as a table of plain values.

    Raises
    ------
    InvalidDocumentError
        The text is not TOML or JSON by its suffix, is nested too deep, or gives
        a key twice; one problem with its line (for keys given twice, one each).
    """
    suffix = suffix_of(source.name)
    try:
        return _parse_toml(source) if suffix == ".toml" else _parse_json(source)
    except RecursionError:
        _fail(source, 0, "lists or tables are nested hundreds deep", "write a flat document")


def check_lists(source: Source, value: Any, path: str = "") -> None:
    """Refuse a list that is too long to be about a station; short documents pass unseen.

    Raises
    ------
    InvalidDocumentError
        A list has more than 100,000 entries or a table more than 1,000 keys.
    """
    if len(source.text) < LARGE_TEXT:
        return
    waiting = [(value, path)]
    while waiting:
        one, where = waiting.pop()
        if isinstance(one, dict):
            if len(one) > _MOST_KEYS:
                _fail(
                    source,
                    0,
                    f"the table {where[1:81] or 'of the document'} has {len(one)} keys",
                    f"the most allowed is {_MOST_KEYS}; see the JSON Schema of documents",
                )
            waiting += [(inner, f"{where}.{key}") for key, inner in one.items()]
        elif isinstance(one, list):
            if len(one) > _MOST_IN_A_LIST:
                _fail(
                    source,
                    0,
                    f"the list {where[1:81]} has {len(one)} entries",
                    f"the most allowed is {_MOST_IN_A_LIST}",
                )
            waiting += [(inner, where) for inner in one if isinstance(inner, dict | list)]


def _parse_toml(source: Source) -> dict[str, Any]:
    import tomllib

    for number, line in enumerate(source.text.split("\n"), start=1):
        if len(line) >= _LONG_LINE and re.search(_DOTTED, line):
            _fail(
                source,
                number,
                f"a key has more than {_MOST_DOTS} dotted parts",
                "no key of a document has more than 3 parts",
            )
    try:
        return tomllib.loads(source.text)
    except ValueError as error:
        found = re.fullmatch(
            r"(?s)(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", str(error)
        )
        if found is None:
            return _fail(source, 0, "a number has thousands of digits", "write it as 2.5 or 1e3")
        reason, line_text, column = found.groups()
        lines = source.text.split("\n")
        number = int(line_text) if line_text else len(lines)
        where = f" at column {column}" if column else " at the end of the file"
        remedy = next(
            (text for word, text in _TOML_REMEDIES if word in reason), "correct this line"
        )
        _fail(source, number, f"not valid TOML{where}: {reason}{_excerpt(lines, number)}", remedy)


def _parse_json(source: Source) -> dict[str, Any]:
    import json

    doubled = False

    def table(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        nonlocal doubled
        made = dict(pairs)
        doubled = doubled or len(made) != len(pairs)
        return made

    try:
        value = json.loads(source.text, object_pairs_hook=table)
    except json.JSONDecodeError as error:
        lines = source.text.split("\n")
        _fail(
            source,
            error.lineno,
            f"not valid JSON at column {error.colno}: {error.msg.lower()}"
            f"{_excerpt(lines, error.lineno)}",
            "use double quotes round keys and texts, a comma between entries and none after the "
            "last; JSON has no comments",
        )
    except ValueError:
        _fail(source, 0, "a number has thousands of digits", "write it as 2.5 or 1e3")
    if doubled:
        _fail_doubled(source)
    if not isinstance(value, dict):
        _fail(
            source,
            1,
            f"the document is {shown(value)}, not an object",
            'write { "schema_version": 1, "length_unit": "m", ... }',
        )
    return value


def _fail_doubled(source: Source) -> NoReturn:
    from structures.files.faults import path_text
    from structures.files.json_lines import locate_json

    problems = tuple(
        Problem(
            place=f"{source.name}:{line} {path_text(path)}",
            message="this key is given twice in the same object",
            remedy="keep one of the two",
        )
        for path, line in locate_json(source.text).doubled
    )
    raise InvalidDocumentError(problems)


def _excerpt(lines: list[str], number: int) -> str:
    text = lines[number - 1].strip() if 0 < number <= len(lines) else ""
    return f", in {text[:60]!r}" if text else ""


def _fail(source: Source, line: int, message: str, remedy: str) -> NoReturn:
    place = f"{source.name}:{line}" if line else source.name
    raise InvalidDocumentError((Problem(place=place, message=message, remedy=remedy),))
