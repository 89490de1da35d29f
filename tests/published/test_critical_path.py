"""Activity networks against worked examples of the critical path method.

Retrieved, every time and slack as printed:

- "Stadium Construction", 18 activities: C. Guéret, C. Prins, M. Sevaux,
  Applications of Optimization with Xpress-MP, Dash Optimization 2000, section
  7.1, as solved in J. Kantor, CBE 40455 course notebook "04.01 Critical Path
  Method" (github.com/jckantor/CBE40455, commit 674e4dc), its printed report.
- "Network activities", 7 activities, 16 hours: teaching note
  studylib.net/doc/8378728, "Example 1", tables 1 and 2; author not named.

From memory, not seen in a retrieved text:

- "House building", eight activities (common in operations-research courses):
  A 3; B 4 after A; C 2 after A; D 5 after B; E 1 after C; F 2 after C;
  G 4 after D, E; H 3 after F, G. Printed answer: 19 periods, A-B-D-G-H.
- "Reliable Construction Co." (Hillier and Lieberman, Introduction to Operations
  Research, chapter on project management): 14 activities, 44 weeks, critical
  path A-B-C-E-F-J-L-N; slacks D, G, H, M 4 each, I 2, K 1.
"""

import numpy as np
import pytest

from routing.outings.clock.network import ActivityNetwork, critical_path, time_network

Table = dict[str, tuple[float, str]]

STADIUM = """
T01 2 0 2 0 2 0
T02 16 2 18 2 18 0 T01
T03 9 18 27 18 27 0 T02
T04 8 18 26 29 37 11 T02
T05 10 27 37 27 37 0 T03
T06 6 37 43 37 43 0 T04 T05
T07 2 26 28 61 63 35 T04
T08 2 43 45 59 61 16 T06
T09 9 43 52 43 52 0 T04 T06
T10 5 26 31 59 64 33 T04
T11 3 43 46 58 61 15 T06
T12 2 52 54 52 54 0 T09
T13 1 28 29 63 64 35 T07
T14 7 18 25 53 60 35 T02
T15 4 26 30 60 64 34 T04 T14
T16 3 46 49 61 64 15 T08 T11 T14
T17 9 54 63 54 63 0 T12
T18 1 63 64 63 64 0 T17
"""
"""Activity, duration, earliest start and finish, latest start and finish, slack, predecessors.

The report prints earliest times alone for the critical ones: their latest are the same.
"""
DESIGN = """
A 6 0 6 0 6 0
B 2 6 8 6 8 0 A
C 2 6 8 7 9 1 A
D 3 8 11 8 11 0 B
F 2 8 10 9 11 1 C
E 4 11 15 11 15 0 D F
G 1 15 16 15 16 0 E
"""

HOUSE: Table = {
    "A": (3, ""),
    "B": (4, "A"),
    "C": (2, "A"),
    "D": (5, "B"),
    "E": (1, "C"),
    "F": (2, "C"),
    "G": (4, "DE"),
    "H": (3, "FG"),
}
CONSTRUCTION: Table = {
    "A": (2, ""),
    "B": (4, "A"),
    "C": (10, "B"),
    "D": (6, "C"),
    "E": (4, "C"),
    "F": (5, "E"),
    "G": (7, "D"),
    "H": (9, "EG"),
    "I": (7, "C"),
    "J": (8, "FI"),
    "K": (4, "J"),
    "L": (5, "J"),
    "M": (2, "H"),
    "N": (6, "KL"),
}


def solve(table: Table) -> tuple[float, str, dict[str, float]]:
    network = ActivityNetwork.of({one: list(before) for one, (_, before) in table.items()})
    durations = np.array([table[one][0] for one in network.ids])
    times = time_network(network, durations)
    slack = dict(zip(network.ids, times.slack_s.tolist(), strict=True))
    return float(times.finish_s), "".join(critical_path(network, times)), slack


def test_house_building() -> None:
    finish, path, slack = solve(HOUSE)
    assert finish == 19
    assert path == "ABDGH"
    assert {one for one, value in slack.items() if value > 0} == {"C", "E", "F"}
    assert slack["C"] == 6  # C-E-G: 3 + 2 + 1 against 3 + 4 + 5
    assert slack["F"] == 9


def test_reliable_construction() -> None:
    finish, path, slack = solve(CONSTRUCTION)
    assert finish == 44
    assert path == "ABCEFJLN"
    assert {k: slack[k] for k in "DGIKM"} == pytest.approx({"D": 4, "G": 4, "I": 2, "K": 1, "M": 4})
    assert slack["H"] == 4


@pytest.mark.parametrize(
    ("table", "finish", "path"),
    [
        (STADIUM, 64, ("T01", "T02", "T03", "T05", "T06", "T09", "T12", "T17", "T18")),
        (DESIGN, 16, ("A", "B", "D", "E", "G")),
    ],
)
def test_every_time_of_a_printed_table(table: str, finish: float, path: tuple[str, ...]) -> None:
    rows = {row.split()[0]: row.split() for row in table.strip().splitlines()}
    network = ActivityNetwork.of({one: row[7:] for one, row in rows.items()})
    times = time_network(network, np.array([float(rows[one][1]) for one in network.ids]))
    assert float(times.finish_s) == finish
    assert critical_path(network, times) == path
    for i, one in enumerate(network.ids):
        found = (
            times.earliest_start_s[i],
            times.earliest_finish_s[i],
            times.latest_start_s[i],
            times.latest_finish_s[i],
            times.slack_s[i],
        )
        assert found == tuple(float(value) for value in rows[one][2:7]), one
