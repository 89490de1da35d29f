"""Short plans on the small example, written as people write them."""

from pathlib import Path

from routing.outings.plan import PlannedOuting, work_out
from routing.outings.plan_file.reader import read_outing
from routing.outings.told.results import OutingFinding
from routing.outings.translations import Ground

__all__ = ["HEAD", "SMALL", "act", "codes", "found", "planned", "write_plan"]

SMALL = Path(__file__).parents[3] / "examples" / "small" / "small.toml"

HEAD = f"""
schema_version = 1
length_unit = "in"
name = "Test"
structure = "{SMALL}"

[blocks]
after_depress_min = 0
egress_min = 0
ingress_min = 0
before_repress_min = 0

[[people]]
id = "EV1"
start = "hatch"
reels = [1020.0, 1020.0]
hangs = 2

[[people]]
id = "EV2"
start = "hatch"
reels = [1020.0, 1020.0]

[[holders]]
id = "arm"
at = "W1"

[[holders]]
id = "arm-2"
at = "W3"

[[items]]
id = "bag"
kind = "bag"
bag = {{ most_items = 2, volume_l = 10.0 }}
ends_anywhere = true
"""
for _item, _kind, _at in (
    ("wrench", "tool", "bag"),
    ("lamp", "tool", "H01"),
    ("pin", "tool", "H01"),
    ("stool", "restraint", "H01"),
    ("bench", "restraint", "SK2"),
    ("line-1", "tether", "EV1"),
    ("line-2", "tether", "EV2"),
    ("door", "payload", "arm"),
    ("crate", "payload", "W3"),
    ("drum", "cable", "H01"),
):
    HEAD += f"""
[[items]]
id = "{_item}"
kind = "{_kind}"
at = "{_at}"
ends_anywhere = true
size = [8.0, 2.0, 2.0]
mass_kg = 1.0
"""


_ALWAYS = {
    "not-back",
    "ends-in-restraint",
    "nothing-to-do",
    "not-checked",
    "limits-not-confirmed",
    "people-too-near",
    "corridor-tight",
    "gap-near-reach",
    "rescue-not-looked-at",
    "lines-cross",
    "lines-may-cross",
    "lines-may-tangle",
    "lines-tangle",
}


def act(act_id: str, who: str, does: str, **keys: object) -> str:
    """Write one act; who may be several names joined by a plus."""
    names = ", ".join(f'"{one}"' for one in who.split("+"))
    lines = ["[[acts]]", f'id = "{act_id}"', f"who = [{names}]", f'does = "{does}"']
    timed = does not in {"move", "carry", "wait"}
    for key, value in (({"minutes": 2} if timed else {}) | keys).items():
        if isinstance(value, bool):
            text = str(value).lower()
        elif isinstance(value, list):
            text = "[" + ", ".join(f'"{x}"' if isinstance(x, str) else f"{x}" for x in value) + "]"
        else:
            text = f'"{value}"' if isinstance(value, str) else f"{value}"
        lines.append(f"{key} = {text}")
    return "\n" + "\n".join(lines) + "\n"


def write_plan(folder: Path, *parts: str, head: str = HEAD) -> Path:
    path = folder / "plan.toml"
    path.write_text(head + "".join(parts), encoding="utf-8")
    return path


def planned(folder: Path, *parts: str, head: str = HEAD) -> PlannedOuting:
    document = read_outing(write_plan(folder, *parts, head=head))
    ground = Ground(document.structure, document.outing, document.limits)
    return work_out(document.outing, ground)


def found(folder: Path, *parts: str, head: str = HEAD) -> tuple[OutingFinding, ...]:
    """Return all findings but those that short plans on a small structure have anyway.

    They do not come back, and two people are soon near each other, or lay lines over each
    other; that has its own tests.
    """
    answer = planned(folder, *parts, head=head).answer
    return tuple(f for f in answer.findings if f.code not in _ALWAYS)


def codes(folder: Path, *parts: str, head: str = HEAD) -> list[tuple[str, str | None]]:
    return [(one.code, one.act) for one in found(folder, *parts, head=head)]
