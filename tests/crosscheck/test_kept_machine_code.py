"""Machine code on disk: never used for other sources than it was made from."""

import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from routing.paths.search.engine import compiled
from tests.needs import NUMBA

pytestmark = NUMBA

RECORD = """
from typing import NamedTuple

class {name}(NamedTuple):
    {first}: float
    {second}: float
"""
KERNEL = """
from kept_program.{module} import {name}

def less(pair: {name}) -> float:
    return pair.much - pair.little
"""


@pytest.fixture
def program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """Return what writes a kernel and, in another file, the record it takes, and runs it anew."""

    def load(name: str, text: str) -> ModuleType:
        path = tmp_path / f"{name.rpartition('.')[2]}.py"
        if not path.exists() or path.read_text() != text:
            path.write_text(text)
        module = ModuleType(name)
        module.__file__ = str(path)
        monkeypatch.setitem(sys.modules, name, module)
        exec(compile(text, path, "exec"), module.__dict__)  # noqa: S102 (a text of this file)
        return module

    def less(module: str = "pair", name: str = "Pair", order: str = "much little") -> Any:
        for one in [one for one in sys.modules if one.startswith("kept_program")]:
            monkeypatch.delitem(sys.modules, one)
        load("kept_program", "")
        first, second = order.split()
        fields = load(
            f"kept_program.{module}", RECORD.format(name=name, first=first, second=second)
        )
        kernel = load("kept_program.kernel", KERNEL.format(module=module, name=name)).less
        machine_code: Any = compiled(kernel)
        found = machine_code(getattr(fields, name)(much=5.0, little=2.0))
        return found, sum(machine_code.stats.cache_hits.values())

    return less


def test_it_is_used_again_as_long_as_nothing_changed(program: Callable[..., Any]) -> None:
    assert program() == (3.0, 0)
    assert program() == (3.0, 1)


def test_fields_in_another_order_are_not_read_by_their_old_places(
    program: Callable[..., Any],
) -> None:
    """The kernel's own file is the same, so that numba alone takes the old machine code: -3.0."""
    assert program() == (3.0, 0)
    assert program(order="little much") == (3.0, 0)
    assert program(order="little much") == (3.0, 1)


def test_a_record_that_was_renamed_or_moved_is_compiled_anew(program: Callable[..., Any]) -> None:
    """The index on disk names the old one, which no longer loads."""
    assert program() == (3.0, 0)
    assert program(name="Couple") == (3.0, 0)
    assert program(module="couple", name="Couple") == (3.0, 0)


def test_without_a_place_for_it_kernels_are_compiled_for_this_run(
    program: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    import numba

    made = numba.njit

    def no_place(*args: Any, cache: bool = False) -> Any:
        if cache:
            raise RuntimeError("cannot cache function 'less': no locator available for file")
        return made(*args)

    monkeypatch.setattr(numba, "njit", no_place)
    assert program() == (3.0, 0)


def test_what_cannot_be_deleted_is_not_used(
    program: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert program() == (3.0, 0)

    def refused(path: Path, *, missing_ok: bool = False) -> None:
        raise PermissionError(path)

    monkeypatch.setattr(Path, "unlink", refused)
    assert program(order="little much") == (3.0, 0)
