"""One act of a plan, as a record: the keys that each kind takes, and how minutes are written."""

from typing import Annotated, Any, TypeAlias

from pydantic import AfterValidator, BeforeValidator, Field, Strict, WithJsonSchema, model_validator

from routing.outings.plan_file.acts import ACT_RULES, OFF_STRUCTURE, ActKind
from routing.paths.onward import Manner
from structures.fields import Flag, Identifier, Number, Record, Text

__all__ = ["EVERY_ACT", "Act", "Ids", "Minutes", "SiteId", "SiteIds"]

_LONGEST_MIN = 1440.0
"""No act takes longer than a day [min]: a bigger number is a unit mixed up."""


def _spread(value: Any) -> Any:
    """Take one number for low, usual and high at once."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return (value, value, value)
    if not isinstance(value, list | tuple) or len(value) != 3:
        raise ValueError(
            "minutes are one number or three; write minutes = 20 or minutes = [15, 20, 30] "
            "(low, usual, high)"
        )
    return value


def _ordered(value: tuple[float, float, float]) -> tuple[float, float, float]:
    low, usual, high = value
    if not 0 <= low <= usual <= high <= _LONGEST_MIN:
        raise ValueError(
            f"{low:g}, {usual:g}, {high:g} min are not low, usual and high; give numbers that do "
            f"not fall, from 0 to {_LONGEST_MIN:g}"
        )
    return value


Minutes: TypeAlias = Annotated[
    tuple[Number, Number, Number],
    BeforeValidator(_spread),
    AfterValidator(_ordered),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0, "maximum": _LONGEST_MIN},
                {
                    "type": "array",
                    "items": {"type": "number", "minimum": 0, "maximum": _LONGEST_MIN},
                    "minItems": 3,
                    "maxItems": 3,
                },
            ],
            "description": "Minutes: one number, or low, usual and high.",
        }
    ),
]
"""Low, usual and high [min]."""

ClockMinutes: TypeAlias = Annotated[Number, Field(ge=0, le=_LONGEST_MIN)]
Ids: TypeAlias = tuple[Identifier, ...]
SiteId: TypeAlias = Annotated[
    str,
    Strict(),
    Field(min_length=1, max_length=80, pattern=r"^[^\s@\x00-\x1f\x7f]+(@[0-9]+(\.[0-9]+)?)?$"),
]
"""The id of a site, or of a grip: ``H12@0.250``."""
SiteIds: TypeAlias = tuple[SiteId, ...]


class Act(Record):
    """One thing that is done; which keys it takes depends on ``does``."""

    id: Identifier
    """Its name in references: unique in the plan, across all lists."""
    who: Annotated[Ids, Field(min_length=1, max_length=8)]
    """People of the outing, or ``inside`` or ``ground``; two people do it together."""
    does: ActKind
    """The kind of act, on which the other keys depend."""
    at: SiteId | None = None
    """The site it is done at, or gone to; not given: where the person is."""
    beside: SiteId | None = None
    """Where the others in ``who`` are meanwhile; not given: at the same site."""
    to: SiteId | None = None
    """Where a cable is laid to."""
    plugs: Annotated[Ids, Field(max_length=2)] = ()
    """The two connectors that a cable runs from and to, so that its length is looked at."""
    via: SiteIds = ()
    """Sites to go by on the way there, in order."""
    item: Identifier | None = None
    """What is carried, fetched, put, set up, got into, tied, cinched, untied or laid."""
    out_of: Identifier | None = None
    """What an item is fetched out of (a bag); not given: the site."""
    into: Identifier | None = None
    """What an item is put into or given to: a bag, or a person; not given: the site."""
    hung: Flag = False
    """Whether an item fetched is hung on the suit, so that the hands stay free."""
    using: Ids = ()
    """Tools, cameras and equipment tethers that it needs."""
    attach: Identifier | None = None
    """The attach point of the worksite that a payload is tied by."""
    subject: Identifier | None = None
    """What is photographed: a target of a worksite, or any element."""
    in_restraint: Flag = False
    """Whether it must be done from a foot restraint."""
    way: Manner = "best"
    """How to get there on reels: the *best* way, *retrace* the lay so that the line comes in, or
    go back along all of it and *recover* every safety tether."""
    lets_go: Ids = ()
    """Items that a holder lets go of (inside and ground actions)."""
    holds: Ids = ()
    """Items that the holder at their site takes hold of (inside and ground actions)."""
    sets: Ids = ()
    """Conditions of the structure in force once it has begun: their zones then count; what they
    close is closed for the whole outing, from its start on."""
    clears: Ids = ()
    """Conditions no longer in force once it is done."""
    still: Ids = ()
    """People who hold still while it goes on."""
    minutes: Minutes | None = None
    """How long it takes: one number, or low, usual and high [min]."""
    after: Ids = ()
    """Acts and gates that must be done before it begins; the way there does not wait."""
    no_earlier_min: ClockMinutes | None = None
    """Earliest time for it to begin, from the start of the outing [min]."""
    no_later_min: ClockMinutes | None = None
    """Latest time for it to be done [min]."""
    spare: Identifier | None = None
    """The get-ahead that it is part of: done only if there is time left."""
    may_drop: Identifier | None = None
    """The group that it is part of: done, but dropped as a whole if too much time is lost."""
    errand: Identifier | None = None
    """The errand that it is part of: who does that, and in which order with others, is free."""
    notes: Text = ""
    """Remarks for the people who do it; printed on the run sheet."""

    @model_validator(mode="after")
    def _keys_fit(self) -> "Act":
        rule = ACT_RULES[self.does]
        for key in rule.needs:
            if not getattr(self, key):
                raise ValueError(f"{self.does} needs {key}; add {key} to act {self.id}")
        if rule.timed and self.minutes is None:
            raise ValueError(f"{self.does} takes time; add minutes to act {self.id}")
        if self.does in {"move", "carry"} and self.minutes is not None:
            raise ValueError(
                f"the router works out how long {self.does} takes; take minutes off act {self.id}"
            )
        allowed = {*EVERY_ACT, *rule.needs, *rule.takes}
        for key in sorted(self.model_fields_set - allowed):
            fits = [kind for kind, one in ACT_RULES.items() if key in {*one.needs, *one.takes}]
            raise ValueError(
                f"{self.does} does not take {key}, only {', '.join(fits)} "
                f"{'does' if len(fits) == 1 else 'do'}; take it off act {self.id}"
            )
        return self

    @model_validator(mode="after")
    def _parties_fit(self) -> "Act":
        off = [one for one in self.who if one in OFF_STRUCTURE]
        if off and (len(self.who) > 1 or self.does != "action"):
            raise ValueError(
                f"{off[0]} does actions only, each by itself; write who = [{off[0]!r}], "
                'does = "action", and let people hold still with still = [...]'
            )
        if self.does == "action" and not off:
            raise ValueError('an action is done inside or on the ground; use does = "work" outside')
        everyone = (*self.who, *self.still)
        if len(set(everyone)) < len(everyone):
            raise ValueError(f"who and still name somebody twice; name each once in act {self.id}")
        if self.way != "best" and (self.at is None or self.via):
            raise ValueError(
                f"{self.way} goes back the way the line lies; add at to act {self.id}, and no via"
            )
        if len(self.plugs) == 1 or len(set(self.plugs)) < len(self.plugs):
            raise ValueError(f"a cable has two ends; name two connectors in plugs of act {self.id}")
        if self.beside is not None and len(self.who) == 1:
            raise ValueError(f"beside is for acts done together; take it off act {self.id}")
        if self.does == "wait" and not self.after and self.minutes is None:
            raise ValueError(f"{self.id} waits for nothing; add after = [...] or minutes")
        if self.no_later_min is not None and self.no_later_min < (self.no_earlier_min or 0.0):
            raise ValueError(
                f"no_later_min {self.no_later_min:g} is before no_earlier_min "
                f"{self.no_earlier_min:g}; swap them"
            )
        return self

    @model_validator(mode="after")
    def _windows_last(self) -> "Act":
        """Refuse a window in which somebody holds still for no time at all: it would say safe."""
        window = self.does == "hold-still" or self.still
        if window and self.minutes is not None and self.minutes[1] == 0:
            raise ValueError(
                "people hold still for 0 min, which keeps nobody still; give the minutes of act "
                f"{self.id}, or take still off it"
            )
        return self

    @model_validator(mode="after")
    def _freedom_fits(self) -> "Act":
        if self.spare is not None and self.may_drop is not None:
            raise ValueError(
                "a get-ahead is dropped first anyway; write spare or may_drop, not both, in act "
                f"{self.id}"
            )
        if self.errand is not None and (len((*self.who, *self.still)) > 1 or self.does == "action"):
            raise ValueError(
                "an errand is done by one person outside alone; take errand off act "
                f"{self.id}, or name one person"
            )
        return self


EVERY_ACT = frozenset(
    {
        "id",
        "who",
        "does",
        "beside",
        "in_restraint",
        "way",
        "minutes",
        "after",
        "still",
        "no_earlier_min",
        "no_later_min",
        "spare",
        "may_drop",
        "errand",
        "notes",
    }
)
