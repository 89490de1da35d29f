"""Running the command in process, and structures with names made to be misread."""

import io
import json
import shutil
import tomllib
from contextlib import redirect_stderr, redirect_stdout
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from jsonschema import Draft202012Validator

from routing.caution import CAUTION
from routing.cli.main import main
from structures.files.reader import read_structure
from structures.files.writer import document_of

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = {
    "small": ROOT / "examples" / "small" / "small.toml",
    "station": ROOT / "examples" / "station" / "station.toml",
}
GOALS = {"small": "W1", "station": "W12"}


class Outcome(NamedTuple):
    code: int
    out: str
    err: str

    @property
    def answer(self) -> Any:
        return json.loads(self.out)


def run(*args: object, encoding: str = "utf-8") -> Outcome:
    """Run the command as a shell would, with streams of their own."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in range(2))
    with redirect_stdout(out), redirect_stderr(err):
        code = main([str(arg) for arg in args])
    texts = []
    for stream in (out, err):
        stream.flush()
        stream.seek(0)
        texts.append(stream.read())
    return Outcome(code, *texts)


@cache
def schema(name: str) -> Draft202012Validator:
    found = run("schema", name)
    assert found.code == 0
    content = json.loads(found.out)
    Draft202012Validator.check_schema(content)
    return Draft202012Validator(content)


def assert_answer(outcome: Outcome, code: int = 0) -> None:
    """An answer is on stdout with the caution; stderr has nothing but progress."""
    assert outcome.code == code, outcome
    assert CAUTION in outcome.out
    assert "Traceback" not in outcome.err
    assert_plain(outcome.out)


def assert_refused(outcome: Outcome, *said: str) -> None:
    """A wrong call says on stderr what is wrong, and nothing on stdout."""
    assert outcome.code == 2, outcome
    assert outcome.out == ""
    assert "Traceback" not in outcome.err
    assert "internal fault" not in outcome.err
    for text in said:
        assert text in outcome.err


def assert_plain(text: str) -> None:
    """Nothing in the text steers a terminal, and no line ends in spaces."""
    assert not [sign for sign in text if sign != "\n" and not sign.isprintable() and sign != " "]
    assert not [line for line in text.split("\n") if line != line.rstrip()]


def copy_small(folder: Path) -> Path:
    """Copy the small example, so that a test may spoil it."""
    shutil.copytree(EXAMPLES["small"].parent, folder)
    return folder / "small.toml"


EVIL_NAME = (
    '=cmd|" /C calc"!A0, "x" [bold]loud[/] [/nope] <b>&amp;</b> $x_1$ \\frac {0} %s \n99. Let go\r'
    "\u202egnisrever\u202c \x1b[31mred\x1b[0m \x9b2J \u200b\u2028" + "long" * 400
)
EVIL_ID = "='\"H[bold]01[/],<b>&amp;$x$\u05d02J{0}%s"


def hostile_structure(path: Path) -> Path:
    """Write the small example as JSON with names and ids that ask to be interpreted."""
    document = document_of(read_structure(EXAMPLES["small"]))
    ids = {
        element["id"]: f"{EVIL_ID}{element['id']}"
        for elements in document.values()
        if isinstance(elements, list)
        for element in elements
    }
    for elements in document.values():
        for element in elements if isinstance(elements, list) else ():
            element["name"] = (EVIL_NAME + element["id"])[-2000:]
    document |= {"name": EVIL_NAME, "revision": EVIL_NAME, "date": EVIL_NAME}
    path.write_text(json.dumps(_renamed(document, ids)), encoding="utf-8")
    return path


def _renamed(value: Any, ids: dict[str, str]) -> Any:
    if isinstance(value, dict):
        return {key: _renamed(one, ids) for key, one in value.items()}
    if isinstance(value, list):
        return [_renamed(one, ids) for one in value]
    return ids.get(value, value) if isinstance(value, str) else value


def raw_document(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))
