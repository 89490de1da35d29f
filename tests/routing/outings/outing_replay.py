"""An independent replay of a planned outing: walks the run sheet and asserts every rule.

It knows the answer only as JSON and the plan only as the TOML that people write;
nothing of the code that plans or keeps custody is used.
"""

import csv
import tomllib
from itertools import groupby
from pathlib import Path
from typing import Any

__all__ = ["replay"]

TOLERANCE_S = 1e-6
BUSY_HANDS = {
    "set-up",
    "get-in",
    "get-out",
    "tie",
    "cinch",
    "release",
    "work",
    "photograph",
    "lay-cable",
}


def replay(plan_file: Path, answer: dict[str, Any]) -> dict[str, str]:
    """Walk the run sheet in time order and assert every rule; return where items end."""
    plan = tomllib.loads(plan_file.read_text(encoding="utf-8"))
    structure_file = plan_file.parent / plan["structure"]
    structure = tomllib.loads(structure_file.read_text(encoding="utf-8"))
    structure["sockets"] = _listed(structure_file, structure.get("sockets", []))
    acts = _acts_by_whom(plan, answer)
    left_out = _left_out(plan, answer)
    rows = answer["run_sheet"]
    assert not left_out & {row.get("act") for row in rows}
    _time_order(rows)
    _nobody_is_twice(plan, rows)
    _people_go_on_from_where_they_are(plan, structure, answer, rows)
    _waits_are_kept(plan, acts, rows, left_out, _lost_s(answer))
    _errands_are_done_in_a_row(acts, rows)
    _nobody_is_where_another_is(plan, structure_file, structure, rows)
    _tethers(plan, answer)
    return _items(plan, structure, acts, rows, left_out)


def _acts_by_whom(plan: dict[str, Any], answer: dict[str, Any]) -> dict[str, Any]:
    """Return the acts of the plan; those of errands are done by whom the answer gives them to."""
    rows = (answer.get("order") or {}).get("rows", ())
    person_of = {row["id"]: row["person"] for row in rows}
    return {
        act["id"]: act
        | ({"who": [person_of[act["errand"]]]} if act.get("errand") in person_of else {})
        for act in plan["acts"]
    }


def _left_out(plan: dict[str, Any], answer: dict[str, Any]) -> set[str]:
    """Return the acts of get-aheads that are not done, and of what is dropped."""
    done, dropped = set(answer.get("get_aheads_planned", ())), set(answer.get("dropped", ()))
    return {
        act["id"]
        for act in plan["acts"]
        if ("spare" in act and act["spare"] not in done) or act.get("may_drop") in dropped
    }


def _lost_s(answer: dict[str, Any]) -> dict[str, float]:
    """Return how much longer acts take than the plan says."""
    lost = answer.get("time_lost") or {}
    return {lost["at"]: 60 * lost["minutes"]} if lost.get("at") else {}


def _errands_are_done_in_a_row(acts: dict[str, Any], rows: list[dict[str, Any]]) -> None:
    for person in {one for act in acts.values() for one in act["who"]}:
        own = [row for row in rows if row["kind"] == "act" and person in row["who"]]
        errands = [
            acts[row["act"]].get("errand") for row in sorted(own, key=lambda row: row["start_s"])
        ]
        runs = [one for one, _ in groupby(errands) if one is not None]
        assert len(runs) == len(set(runs)), f"an errand of {person} is cut in two: {errands}"


def _time_order(rows: list[dict[str, Any]]) -> None:
    starts = [row["start_s"] for row in rows]
    assert starts == sorted(starts)
    assert all(row["end_s"] >= row["start_s"] for row in rows)
    assert rows[0]["start_s"] == 0.0
    assert rows[-1]["kind"] == "block"


def _nobody_is_twice(plan: dict[str, Any], rows: list[dict[str, Any]]) -> None:
    """Every second of every person is in just one row, from the first block to the last."""
    for person in [one["id"] for one in plan["people"]]:
        own = [
            row
            for row in rows
            if person in row["who"]
            and row["end_s"] > row["start_s"]
            # A cable is laid within its act.
            and not (row["kind"] == "way" and row["text"].startswith("lay along"))
        ]
        own.sort(key=lambda row: row["start_s"])
        at_s = 0.0
        for row in own:
            assert abs(row["start_s"] - at_s) < TOLERANCE_S, (person, row)
            at_s = row["end_s"]


def _listed(structure_file: Path, elements: Any) -> list[dict[str, Any]]:
    """Return a list of a document, from the table beside it if that is where it is."""
    if isinstance(elements, dict):
        with (structure_file.parent / elements["csv"]).open(encoding="utf-8") as lines:
            return list(csv.DictReader(lines))
    return list(elements)


def _ground(structure: dict[str, Any], site: str) -> str:
    for worksite in structure["worksites"]:
        if worksite["id"] == site and "socket" in worksite:
            return str(worksite["socket"])
    return site


def _site(ref: dict[str, Any]) -> str:
    (site,) = [value for value in ref.values() if value is not None]
    return str(site)


def _people_go_on_from_where_they_are(
    plan: dict[str, Any],
    structure: dict[str, Any],
    answer: dict[str, Any],
    rows: list[dict[str, Any]],
) -> None:
    """Each way begins where the one before ended, at the grip and with the line it ended with."""
    ways: dict[str, list[dict[str, Any]]] = {}
    for way in answer["translations"]:
        ways.setdefault(way["person"], []).append(way)
    for person in plan["people"]:
        site = person["start"]
        for way in ways.get(person["id"], ()):
            assert way["found"]
            assert _site(way["from_site"]) == site
            site = _site(way["to_site"])
            row = next(
                r
                for r in rows
                if r["kind"] == "way"
                and r.get("act") == way["act"]
                and person["id"] in r["who"]
                and _site(r["to_site"]) == site
            )
            assert abs(row["end_s"] - row["start_s"] - way["seconds"]) < TOLERANCE_S
        assert _ground(structure, site) == person["start"]


def _sockets(structure_file: Path, structure: dict[str, Any]) -> set[str]:
    listed = structure.get("sockets", [])
    if isinstance(listed, dict):
        with (structure_file.parent / listed["csv"]).open(encoding="utf-8", newline="") as file:
            return {row["id"] for row in csv.DictReader(file)}
    return {one["id"] for one in listed}


def _nobody_is_where_another_is(
    plan: dict[str, Any],
    structure_file: Path,
    structure: dict[str, Any],
    rows: list[dict[str, Any]],
) -> None:
    """A socket holds one person at a time: from coming there to leaving for elsewhere."""
    sockets = _sockets(structure_file, structure)
    stays: list[tuple[float, float, str, str]] = []
    for person in [one["id"] for one in plan["people"]]:
        ways = [row for row in rows if row["kind"] == "way" and row["who"] == [person]]
        ways.sort(key=lambda row: (row["start_s"], row["end_s"]))
        begins = [row["start_s"] for row in ways]
        acts_end = max((row["end_s"] for row in rows if row["kind"] != "block"), default=0.0)
        for row, leaves_s in zip(ways, [*begins, acts_end][1:], strict=True):
            place = _ground(structure, _site(row["to_site"]))
            if place in sockets:
                stays.append((row["end_s"], leaves_s, place, person))
    for start_s, end_s, place, person in stays:
        for other_start_s, other_end_s, other_place, other in stays:
            if person < other and place == other_place:
                both_s = min(end_s, other_end_s) - max(start_s, other_start_s)
                assert both_s < TOLERANCE_S, f"{person} and {other} are both at {place}"


def _waits_are_kept(
    plan: dict[str, Any],
    acts: dict[str, Any],
    rows: list[dict[str, Any]],
    left_out: set[str],
    lost_s: dict[str, float],
) -> None:
    begin = {r["act"]: r["start_s"] for r in rows if r["kind"] in {"act", "gate"}}
    # A move is done when its way is; it has no row of its own.
    end = {r["act"]: r["end_s"] for r in rows if r["kind"] == "way"}
    end |= {r["act"]: r["end_s"] for r in rows if r["kind"] in {"act", "gate"}}
    for act in acts.values():
        if act["id"] not in begin:
            assert act["id"] in left_out or act["does"] in {"move", "carry"}
            continue
        for earlier in act.get("after", ()):
            assert earlier in end, f"{act['id']} waits for {earlier}, which is left out"
            assert end[earlier] <= begin[act["id"]] + TOLERANCE_S
        row = next(r for r in rows if r["kind"] == "act" and r["act"] == act["id"])
        assert sorted(row["who"]) == sorted([*act["who"], *act.get("still", ())])
        minutes = act.get("minutes", 0)
        usual = minutes[1] if isinstance(minutes, list) else minutes
        laid = sum(
            r["end_s"] - r["start_s"]
            for r in rows
            if r["kind"] == "way" and r["act"] == act["id"] and r["text"].startswith("lay")
        )
        takes_s = 60 * usual + laid + lost_s.get(act["id"], 0.0)
        assert abs(row["end_s"] - row["start_s"] - takes_s) < TOLERANCE_S
    for gate in plan.get("gates", ()):
        assert begin[gate["id"]] >= max(end[one] for one in gate["needs"]) - TOLERANCE_S
        for opened in gate.get("opens", ()):
            assert begin[opened] >= begin[gate["id"]] - TOLERANCE_S


def _tethers(plan: dict[str, Any], answer: dict[str, Any]) -> None:
    """Reels are neither made nor lost, and no line is longer than its reel allows."""
    for person in plan["people"]:
        own = [one for one in answer["tethers"] if one["person"] == person["id"]]
        kit = sorted(person["reels"])
        # Documents may be in inches: compare how many there are.
        for one in own:
            carried = [stay for stay in one["stack"] if not stay["staged"]]
            assert len(carried) + len(one["carried_m"]) == len(kit)
            for stay in one["stack"]:
                assert 0 <= stay["payout_m"] <= stay["length_m"]
        assert len(own[-1]["stack"]) == 1


def _items(
    plan: dict[str, Any],
    structure: dict[str, Any],
    acts: dict[str, Any],
    rows: list[dict[str, Any]],
    left_out: set[str],
) -> dict[str, str]:
    """Move items by the words of the plan, act by act, and assert what must hold each time."""
    world = _World(plan, structure)
    for row in sorted((r for r in rows if r["kind"] in {"way", "act"}), key=lambda r: r["end_s"]):
        act = acts[row["act"]]
        if row["kind"] == "way":
            world.go(row, act)
        else:
            world.do(act, row)
    only_left_out = {acts[one].get("item") for one in left_out}
    only_left_out -= {acts[row["act"]].get("item") for row in rows if row["kind"] == "act"}
    return world.finish(only_left_out)


class _World:
    """Where everything and everybody is while the run sheet is being walked."""

    def __init__(self, plan: dict[str, Any], structure: dict[str, Any]) -> None:
        self.plan, self.structure = plan, structure
        self.at = {i["id"]: i["stowed_at"] for i in structure["items"] if "stowed_at" in i}
        self.at |= {item["id"]: item["at"] for item in plan["items"] if "at" in item}
        self.first = dict(self.at)
        self.restraints = {i["id"] for i in plan["items"] if i.get("kind") == "restraint"}
        self.sockets = {one["id"] for one in structure["sockets"]}
        self.tethers = {i["id"] for i in plan["items"] if i.get("kind") == "tether"}
        self.spans = {item["id"]: item.get("spans", []) for item in plan["items"]}
        self.holders = {one["id"]: one["at"] for one in plan.get("holders", ())}
        self.site_of = {person["id"]: person["start"] for person in plan["people"]}
        self.hands: dict[str, list[str]] = {person: [] for person in self.site_of}
        self.feet: dict[str, str] = {}
        self.tied: dict[str, set[str]] = {}
        self.came_s: dict[str, float] = {}

    def root(self, item: str) -> str:
        where = self.at[item]
        while where in self.at:
            where = self.at[where]
        return _ground(self.structure, self.holders.get(where, where))

    def near(self, item: str, act: dict[str, Any]) -> bool:
        here = _ground(self.structure, self.site_of[act["who"][0]])
        there = self.root(item)
        if there in act["who"] or there == here:
            return True
        reach = [_ground(self.structure, one) for one in self.spans.get(item, [])]
        return there in reach and here in reach

    def drop(self, item: str) -> None:
        assert item
        for person, held in self.hands.items():
            self.hands[person] = [one for one in held if one != item]

    def go(self, row: dict[str, Any], act: dict[str, Any]) -> None:
        (who,) = row["who"]
        assert who not in self.feet, f"{who} moves with the feet in {self.feet[who]}"
        self.site_of[who] = _site(row["to_site"])
        if act["does"] == "carry":
            assert self.at[act["item"]] in act["who"]

    def do(self, act: dict[str, Any], row: dict[str, Any]) -> None:
        if act["does"] == "fetch":
            # It was there all the while, not only at the end.
            assert self.came_s.get(act["item"], 0.0) <= row["start_s"] + TOLERANCE_S
        before = dict(self.at)
        on_it = act["does"] == "release"
        for used in act.get("using", ()):
            assert self.near(act["item"] if on_it else used, act), f"{act['id']} needs {used}"
        if act.get("in_restraint"):
            assert all(one in self.feet for one in act["who"])
        self.hands_are_free(act)
        handle = getattr(self, f"do_{act['does'].replace('-', '_')}", None)
        if handle is not None:
            handle(act, act["who"][0], act.get("item", ""))
        for loose in act.get("lets_go", ()):
            assert self.tied[loose], f"{loose} is let go of and drifts off"
            self.at[loose] = self.holders[self.at[loose]]
        for item, where in self.at.items():
            if where != before.get(item):
                self.came_s[item] = row["end_s"]
        for bag in self.plan["items"]:
            if "bag" in bag:
                inside = sum(where == bag["id"] for where in self.at.values())
                assert inside <= bag["bag"]["most_items"]

    def hands_are_free(self, act: dict[str, Any]) -> None:
        if act["does"] in BUSY_HANDS:
            for person in act["who"]:
                free = set(self.hands[person]) - {act.get("item"), *act.get("using", ())}
                assert not free, f"{person} does {act['id']} with {free} in the hands"

    def do_fetch(self, act: dict[str, Any], who: str, item: str) -> None:
        if "out_of" in act:
            assert self.at[item] == act["out_of"]
        else:
            assert self.at[item] not in self.hands, "somebody has it already"
        assert self.near(item, act)
        assert not self.tied.get(item)
        assert item not in self.feet.values()
        self.drop(item)
        if not act.get("hung"):
            assert not self.hands[who], f"{who} has {self.hands[who]} and takes {item}"
            self.hands[who].append(item)
        self.at[item] = who

    def do_put(self, act: dict[str, Any], who: str, item: str) -> None:
        assert self.at[item] in act["who"]
        self.drop(item)
        where = self.at[item] = act.get("into", self.site_of[who])
        if where in self.hands:
            assert not self.hands[where]
            self.hands[where].append(item)
        if item in self.restraints and self.root(item) in self.sockets:
            assert not [
                one
                for one in self.restraints & self.at.keys() - {item}
                if self.root(one) == self.root(item)
            ]

    do_set_up = do_put

    def do_get_in(self, act: dict[str, Any], who: str, item: str) -> None:
        assert act["id"]
        assert self.root(item) == _ground(self.structure, self.site_of[who])
        assert item not in self.feet.values()
        self.feet[who] = item

    def do_get_out(self, act: dict[str, Any], who: str, item: str) -> None:
        assert self.feet.pop(who) == item, act["id"]

    def do_tie(self, act: dict[str, Any], who: str, item: str) -> None:
        assert set(act["using"]) <= self.tethers
        assert self.near(item, act), who
        for used in act["using"]:
            assert not any(used in on for on in self.tied.values())
            self.at[used] = item
        self.tied.setdefault(item, set()).update(act["using"])

    def do_cinch(self, act: dict[str, Any], who: str, item: str) -> None:
        assert self.tied[item], act["id"]
        assert self.at[item] not in self.holders
        self.at[item] = self.site_of[who]

    def do_release(self, act: dict[str, Any], who: str, item: str) -> None:
        for used in act["using"]:
            self.tied[item].remove(used)
            self.at[used] = who

    def do_lay_cable(self, act: dict[str, Any], who: str, item: str) -> None:
        assert self.at[item] in act["who"], who
        self.drop(item)
        self.at[item] = act["to"]

    def finish(self, only_left_out: set[str | None]) -> dict[str, str]:
        """Assert where all ends; what only acts left out would have moved may stay."""
        assert not self.feet
        own = {item["id"]: item for item in self.plan["items"]}
        for item, where in self.at.items():
            stays = item in only_left_out and where == self.first[item]
            wanted = where if stays else own.get(item, {}).get("ends_at", self.first[item])
            ends = _ground(self.structure, where), _ground(self.structure, wanted)
            assert ends[0] == ends[1], (item, where, wanted)
        return self.at
