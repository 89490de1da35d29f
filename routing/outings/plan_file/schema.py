"""The JSON Schema of plans, with the keys that each kind of act takes."""

from typing import Any

from routing.outings.plan_file.act_record import EVERY_ACT
from routing.outings.plan_file.acts import ACT_RULES
from routing.outings.plan_file.records import Outing
from structures.files.schema import json_schema

__all__ = ["act_keys", "plan_schema"]


def plan_schema() -> dict[str, Any]:
    """Return the JSON Schema of plans."""
    schema = json_schema(Outing)
    does = schema["$defs"]["Act"]["properties"]["does"]
    does["description"] = f"{does['description']} {act_keys()}"
    return schema


def act_keys() -> str:
    """Return what each kind of act must and may have, as one sentence each."""
    every = ", ".join(sorted(EVERY_ACT - {"id", "who", "does", "minutes"}))
    said = [f"Every kind has id, who, does; it may have {every}."]
    for kind, rule in ACT_RULES.items():
        needs = [*rule.needs, *(["minutes"] if rule.timed else [])]
        if kind == "wait":
            needs.append("after or minutes")
        takes = rule.takes
        must = f" must have {', '.join(needs)}" if needs else ""
        may = f" may have {', '.join(takes)}" if takes else ""
        said.append(f"{kind}{must}{',' if must and may else ''}{may}.")
    return " ".join(said)
