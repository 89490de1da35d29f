"""The container: a copy with other elements looks them up itself."""

import pytest

from structures.elements import Handhold
from structures.errors import UnknownIdError
from structures.model import Structure


def hold(name: str) -> Handhold:
    return Handhold(id=name, position_m=(0.0, 0.0, 0.0), normal=(0.0, 0.0, -1.0))


def test_a_copy_with_other_elements_does_not_find_the_old_ones() -> None:
    first = Structure(name="one", revision="A", handholds=(hold("G1"),))
    assert first.find("G1").id == "G1"
    second = first.model_copy(update={"handholds": (hold("G2"),)})
    assert second.find("G2").id == "G2"
    with pytest.raises(UnknownIdError, match="G1"):
        second.find("G1")
    assert first.by_id.keys() == {"G1"}
    assert first.model_copy() == first
