"""Activity networks against worked examples of the critical path method.

The tables are the teaching examples of project scheduling books, from memory:
nothing below was seen in a retrieved text, so they stand beside the check
against networkx in tests/crosscheck/test_outing_network.py, not in place of it.

- "House building", eight activities (common in operations-research courses):
  A 3; B 4 after A; C 2 after A; D 5 after B; E 1 after C; F 2 after C;
  G 4 after D, E; H 3 after F, G. Printed answer: 19 periods, A-B-D-G-H.
- "Reliable Construction Co." (Hillier and Lieberman, Introduction to Operations
  Research, chapter on project management): 14 activities, 44 weeks, critical
  path A-B-C-E-F-J-L-N; slacks D, G, H, M 4 each, I 2, K 1.
"""

import numpy as np
import pytest

from routing.outings.network import ActivityNetwork, critical_path, time_network

Table = dict[str, tuple[float, str]]

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
