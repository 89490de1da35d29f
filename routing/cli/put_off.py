"""A library that a library needs only for what is switched off: loaded when it is asked for.

pydantic looks for plug-ins through `importlib.metadata`, and imports it, with
thirty-odd modules for e-mail, sockets and archives, as soon as the first record
is built; also where the search is switched off, as in every command. That was a
fourteenth of a cold answer.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import Any, Final

__all__ = ["put_off_package_lists"]

_LISTS: Final = "importlib.metadata"


class _PutOff(ModuleType):
    """Stands for a module until something in it is wanted."""

    def __getattr__(self, name: str) -> Any:
        # What the import statement itself asks of any module is no use of it.
        if name.startswith("__"):
            raise AttributeError(name)
        return getattr(_loaded(), name)


def _loaded() -> ModuleType:
    """Return the module itself, whatever stands in its place now."""
    if isinstance(sys.modules.get(_LISTS), _PutOff):
        del sys.modules[_LISTS]
    return import_module(_LISTS)


def _entry_points(**wanted: Any) -> Any:
    return _loaded().entry_points(**wanted)


def put_off_package_lists() -> None:
    """Let pydantic's search for plug-ins be loaded without the lists of packages it goes through.

    The search works as ever: what it calls loads `importlib.metadata` first.
    Everyone else gets that module itself. A pydantic whose search is elsewhere
    is left as it is.
    """
    if _LISTS in sys.modules:
        return
    stand_in = _PutOff(_LISTS)
    stand_in.__dict__["entry_points"] = _entry_points
    sys.modules[_LISTS] = stand_in
    try:
        import_module("pydantic.plugin._loader")
    except ImportError:
        pass
    finally:
        if sys.modules.get(_LISTS) is stand_in:
            del sys.modules[_LISTS]
