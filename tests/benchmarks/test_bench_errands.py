"""How much of all orders and splits of errands the search has to plan until it is proven."""

import time
from math import factorial
from pathlib import Path

import pytest

from routing.outings.choosing.errand_order import ErrandOrder
from routing.outings.plan_file.reader import read_outing
from routing.outings.translations import Ground
from tests.routing.outings.outing_plans import act, write_plan

SITES = ("W1", "W3", "H02", "H04", "SK4", "H01", "H03")
MINUTES = (5, 6, 3, 7, 4, 2, 8)


@pytest.mark.benchmark
@pytest.mark.parametrize("count", [4, 5, 6, 7])
def test_arrangements_planned_of_all(tmp_path: Path, count: int) -> None:
    errands = "".join(f'\n[[errands]]\nid = "e{i}"\n' for i in range(count))
    acts = [act(f"first-{who}", who, "work", at="H02", minutes=2) for who in ("EV1", "EV2")]
    acts[1] = acts[1].replace("H02", "H01")
    acts += [
        act(f"a{i}", ("EV2", "EV1")[i % 2], "work", at=SITES[i], minutes=MINUTES[i], errand=f"e{i}")
        for i in range(count)
    ]
    acts += [act(f"home-{p}", p, "move", at="hatch", way="recover") for p in ("EV1", "EV2")]
    document = read_outing(write_plan(tmp_path, errands, *acts))
    ground = Ground(document.structure, document.outing, document.limits)
    start_s = time.process_time()
    found = ErrandOrder(document.outing, ground).best()
    took_s = time.process_time() - start_s
    print(
        f"\n{count} errands: {found.planned} of {factorial(count + 1)} arrangements planned, "
        f"{found.opened} beginnings bounded, {took_s:.1f} s of the processor, "
        f"{'proven' if found.proven else f'gap {found.total_s - found.at_least_s:.0f} s'} "
        f"(outing of {found.total_s:.0f} s)"
    )
    assert found.chosen is not None
