"""What some tests need beside the package; without it they are skipped, and say so."""

from importlib.util import find_spec

import pytest

__all__ = ["NUMBA"]

NUMBA = pytest.mark.skipif(find_spec("numba") is None, reason="needs the extra gripway[fast]")
