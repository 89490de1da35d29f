"""The run sheet: everything in time order, one row for each way, wait, act, gate and block."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from routing.graph.sites import SITE_KINDS
from routing.outings.clock.activity_plan import ACTS_BEGIN, way_id
from routing.outings.clock.schedule import MINUTE_S, Schedule, spread_s
from routing.outings.plan_file.records import Blocks, Outing, block_source
from routing.outings.safety.safety_records import TurnHome
from routing.outings.safety.tethers import trips_in_time
from routing.outings.told.results import Block, Milestone, RunRow, Translation
from routing.outings.told.times_said import clock, rounded_down
from routing.outings.told.wording import Wording
from routing.outings.translations import Trip
from routing.paths.answers.results import SiteRef
from structures.files.tables import table_text
from structures.model import Structure

__all__ = ["blocks", "milestones", "run_sheet", "run_sheet_csv", "site_ref", "translation"]

_ORDER = {"block": 0, "act": 1, "gate": 2, "way": 3, "wait": 4}


def site_ref(structure: Structure, site: str) -> SiteRef:
    """Return a site under the key that says what it is."""
    element = structure.by_id.get(site)
    kind = SITE_KINDS.get(type(element)) if element is not None else None
    key = "grip" if kind is None else kind.replace(" ", "_")
    return SiteRef(**{key: site})


def blocks(outing: Outing, acts_end_s: float, lost_s: float = 0.0) -> tuple[Block, ...]:
    """Return the blocks of the clock, with where their lengths are from.

    Parameters
    ----------
    lost_s
        Time lost before the first act: a block of its own [s].
    """
    found: list[Block] = []
    at_s = 0.0
    for key, name in (
        ("after_depress_min", "after depress"),
        ("egress_min", "egress and setup"),
        ("ingress_min", "clean-up and ingress"),
        ("before_repress_min", "before repress"),
    ):
        if key == "ingress_min":
            if lost_s > 0:
                end_s = at_s + lost_s
                found.append(Block(name="time lost", start_s=at_s, end_s=end_s, source="asked"))
            at_s = acts_end_s
        end_s = at_s + MINUTE_S * getattr(outing.blocks, key)
        own = key in outing.blocks.model_fields_set
        source = "the plan" if own else block_source(Blocks, key)
        found.append(Block(name=name, start_s=at_s, end_s=end_s, source=source))
        at_s = end_s
    return tuple(found)


def translation(structure: Structure, trip: Trip, protocol: str) -> Translation:
    """Return a way as a record."""
    head: dict[str, Any] = {
        "act": trip.act,
        "person": trip.person,
        "from_site": site_ref(structure, trip.from_site),
        "to_site": site_ref(structure, trip.to_site),
        "carry": None if trip.carry is None else trip.carry.id,
        "when": trip.when,
        "laying": trip.laying,
        "manner": trip.manner,
        "found": trip.route is not None,
        "seconds": trip.seconds,
        "protocol": protocol,
    }
    route = trip.route
    if route is None:
        return Translation(**head, remarks=(f"NO WAY: {trip.why_not}",))
    line = route.margins.line
    return Translation(
        **head,
        distance_m=route.totals.distance_m,
        hand_overs=route.totals.hand_overs,
        transfers=route.totals.transfers,
        least_left_m=None if line is None else line.least_left_m,
        least_left_at=None if line is None else line.worst_grip,
        handrails=route.handrails,
        steps=route.steps,
        remarks=tuple(
            f"{finding.code}: {finding.message}"
            for finding in route.findings
            if finding.severity != "notes" and finding.code != "tether-left-outside"
        ),
    )


def milestones(schedule: Schedule) -> tuple[Milestone, ...]:
    """Return when each gate opens, by time."""
    found = [
        Milestone(
            gate=gate.id,
            name=gate.name,
            at_s=schedule.start_s(gate.id),
            slack_s=schedule.slack_s(gate.id),
            needs=tuple(sorted(gate.needs, key=lambda one: (-schedule.end_s(one), one))),
        )
        for gate in schedule.plan.outing.gates
    ]
    return tuple(sorted(found, key=lambda one: (one.at_s, one.gate)))


def run_sheet(
    schedule: Schedule, structure: Structure, wording: Wording, turns: Sequence[TurnHome] = ()
) -> tuple[RunRow, ...]:
    """Return all rows in time order.

    Parameters
    ----------
    turns
        By when to turn home from each act.
    """
    by_s = {(one.person, one.act): one.turn_by_s for one in turns if one.turn_by_s is not None}
    rows = [
        *_block_rows(schedule),
        *_act_rows(schedule, structure, wording),
        *_way_rows(schedule, structure, wording),
        *_wait_rows(schedule),
        *_idle_rows(schedule),
        *_gate_rows(schedule),
    ]
    rows = [_with_turn(row, by_s) for row in rows]
    number = schedule.plan.number
    return tuple(
        sorted(
            rows,
            key=lambda row: (
                row.start_s,
                row.end_s,
                _ORDER[row.kind],
                number.get(row.act or "", -1),
                row.who,
            ),
        )
    )


def _with_turn(row: RunRow, by_s: Mapping[tuple[str, str | None], float]) -> RunRow:
    """Say by when to turn home from an act and the way there: who must do so first counts."""
    if row.kind not in {"act", "way", "wait"}:
        return row
    known = [by_s[one, row.act] for one in row.who if (one, row.act) in by_s]
    return replace(row, turn_by_s=min(known)) if known else row


def _block_rows(schedule: Schedule) -> Iterator[RunRow]:
    outing = schedule.plan.outing
    lost_s = schedule.plan.lost_s.get(ACTS_BEGIN, 0.0)
    for block in blocks(outing, schedule.acts_end_s, lost_s):
        yield RunRow(
            start_s=block.start_s,
            end_s=block.end_s,
            kind="block",
            who=tuple(person.id for person in outing.people),
            text=block.name,
            critical=True,
            slack_s=0.0,
        )


def _act_rows(schedule: Schedule, structure: Structure, wording: Wording) -> Iterator[RunRow]:
    for act in schedule.plan.acts:
        if act.does in {"move", "carry"} and schedule.start_s(act.id) == schedule.end_s(act.id):
            continue  # the way there says it all
        low_s, usual, high_s = spread_s(schedule.plan, schedule.leg, act.id)
        site = schedule.leg.sites.get((act.id, act.who[0]))
        spread = low_s < usual or usual < high_s
        yield RunRow(
            start_s=schedule.start_s(act.id),
            end_s=schedule.end_s(act.id),
            kind="act",
            who=(*act.who, *act.still),
            act=act.id,
            text=wording.act(act),
            to_site=None if site is None else site_ref(structure, site),
            low_s=low_s if spread else None,
            high_s=high_s if spread else None,
            remarks=(*_lost(schedule, act.id), *wording.remarks(act)),
            **_float(schedule, act.id),
        )


def _lost(schedule: Schedule, act: str) -> tuple[str, ...]:
    lost_s = schedule.plan.lost_s.get(act, 0.0)
    return (f"{lost_s / MINUTE_S:g} min lost",) if lost_s else ()


def _float(schedule: Schedule, activity: str) -> dict[str, Any]:
    return {
        "latest_start_s": schedule.latest_start_s(activity),
        "slack_s": schedule.slack_s(activity),
        "critical": schedule.is_critical(activity),
    }


def _way_rows(schedule: Schedule, structure: Structure, wording: Wording) -> Iterator[RunRow]:
    for person in schedule.plan.outing.people:
        for start_s, end_s, trip in trips_in_time(schedule, person.id):
            activity = trip.act if trip.laying else way_id(trip.act, person.id)
            record = translation(structure, trip, person.protocol)
            remarks = [] if record.found else list(record.remarks)
            if trip.carry is not None:
                remarks.insert(0, f"with {wording.thing(trip.carry.id)}")
            if trip.manner != "best":
                said = {"retrace": "back along the line", "recover": "takes up every tether"}
                remarks.insert(0, said[trip.manner])
            if record.found and record.remarks:
                codes = (one.partition(":")[0] for one in record.remarks)
                remarks.append(f"watch {', '.join(dict.fromkeys(codes))}")
            if trip.when:
                remarks.append(f"clear of {', '.join(trip.when)}")
            yield RunRow(
                start_s=start_s if not trip.laying else end_s - trip.seconds,
                end_s=end_s,
                kind="way",
                who=(person.id,),
                act=trip.act,
                text=f"{'lay along the way' if trip.laying else 'go'} to "
                f"{wording.site(trip.to_site)}",
                from_site=record.from_site,
                to_site=record.to_site,
                handrails=tuple(one.handrail for one in record.handrails if one.handrail),
                transfers=record.transfers,
                line_left_m=record.least_left_m,
                remarks=tuple(remarks),
                **_float(schedule, activity),
            )


def _wait_rows(schedule: Schedule) -> Iterator[RunRow]:
    for wait in schedule.waits:
        what = f"for {wait.waits_for}" if wait.waits_for else f"until {clock(wait.end_s)}"
        yield RunRow(
            start_s=wait.start_s,
            end_s=wait.end_s,
            kind="wait",
            who=(wait.person,),
            act=wait.act,
            text=f"wait {what}",
        )


def _idle_rows(schedule: Schedule) -> Iterator[RunRow]:
    """After the last act of one person while another is at work, from where the person is then."""
    for person, start_s, end_s in schedule.idle:
        yield RunRow(
            start_s=start_s,
            end_s=end_s,
            kind="wait",
            who=(person,),
            text="nothing more planned; wait for the others",
        )


def _gate_rows(schedule: Schedule) -> Iterator[RunRow]:
    for one in milestones(schedule):
        yield RunRow(
            start_s=one.at_s,
            end_s=one.at_s,
            kind="gate",
            who=(),
            act=one.gate,
            text=f"gate {one.gate}{f' ({one.name})' if one.name else ''} opens",
            **_float(schedule, one.gate),
        )


_COLUMNS = (
    "pet",
    "end_pet",
    "start_s",
    "end_s",
    "kind",
    "who",
    "act",
    "text",
    "from",
    "to",
    "handrails",
    "transfers",
    "line_left_m",
    "turn_by_pet",
    "slack_s",
    "critical",
    "remarks",
)


def run_sheet_csv(rows: Sequence[RunRow]) -> str:
    """Return the run sheet as CSV, safe to open in a spreadsheet."""
    return table_text(_COLUMNS, [_cells(row) for row in rows])


def _cells(row: RunRow) -> list[str]:
    return [
        clock(row.start_s),
        clock(row.end_s),
        f"{row.start_s:.1f}",
        f"{row.end_s:.1f}",
        row.kind,
        " + ".join(row.who),
        row.act or "",
        row.text,
        "" if row.from_site is None else row.from_site.id,
        "" if row.to_site is None else row.to_site.id,
        " ".join(row.handrails),
        "" if row.transfers is None else str(row.transfers),
        "" if row.line_left_m is None else rounded_down(row.line_left_m, 2),
        "" if row.turn_by_s is None else clock(max(row.turn_by_s, 0.0)),
        "" if row.slack_s is None else rounded_down(row.slack_s, 1),
        "yes" if row.critical else "",
        "; ".join(row.remarks),
    ]
