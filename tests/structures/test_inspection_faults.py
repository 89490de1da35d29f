"""Every finding about structures: one fault at a time, found and found alone."""

import numpy as np
import pytest

from structures.elements import (
    Element,
)
from structures.model import ELEMENT_LISTS
from tests.structures.inspection_faults import FAULTS
from tests.structures.inspection_ground import (
    base,
    inspected,
)


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_is_found(fault: str) -> None:
    structure, code, elements = FAULTS[fault]
    found = [f for f in inspected(structure) if f.code == code]
    assert [f.elements[: len(elements)] for f in found][:1] == [elements]
    for finding in found:
        assert finding.message.count(";") >= 2
        assert all(element in finding.message for element in finding.elements)


CONNECTED = {
    "zone over a socket": {"zone-over-socket", "zone-over-worksite"},
    "zone over a worksite": {"zone-over-socket", "zone-over-worksite"},
    "rail through the module between looks": None,
    "tether point inside": {"tether-point-inside-solid"},
    # The sensor is nearer than the standoff says a rail should have around it.
    "kick-sensitive solid at 24 in": {"kick-sensitive-near"},
}


@pytest.mark.parametrize("fault", FAULTS)
def test_one_fault_gives_no_other_finding(fault: str) -> None:
    structure, code, _ = FAULTS[fault]
    expected = CONNECTED.get(fault, {code})
    if expected is not None:
        assert {f.code for f in inspected(structure)} == expected


def merged(elements: tuple[Element, ...], faulty: tuple[Element, ...]) -> tuple[Element, ...]:
    """Put the faulty ones among the elements in place of those with their ids."""
    changed = [e for e in faulty if e not in base().by_id.values()]
    return tuple({e.id: e for e in (*elements, *changed)}.values())


def test_order_of_elements_does_not_matter() -> None:
    structure = base()
    for faulty, _, _ in FAULTS.values():
        structure = structure.model_copy(
            update={
                name: merged(getattr(structure, name), getattr(faulty, name))
                for name in ELEMENT_LISTS
            }
        )
    shuffled = structure
    random = np.random.default_rng(1)
    for name in ELEMENT_LISTS:
        elements = getattr(structure, name)
        order = random.permutation(len(elements)).tolist()
        shuffled = shuffled.model_copy(update={name: tuple(elements[i] for i in order)})
    assert len(inspected(structure)) > 10
    assert inspected(shuffled) == inspected(structure)
