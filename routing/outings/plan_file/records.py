"""The plan file of an outing, as records.

A plan is a TOML (or JSON) document with ``schema_version = 1`` and a
``length_unit``, like a structure. Acts are listed from first to last; the order
of each person's acts is the order in the file. Acts name sites; the ways
between them are found by the router.

::

    schema_version = 1
    length_unit = "m"
    name = "Valve change"
    structure = "small.toml"             # beside this file

    [[people]]
    id = "EV1"
    person = "ev-large"                  # reach, rate and corridor from the structure
    start = "hatch"
    protocol = "reel"
    reels = [25.908, 25.908]             # the one hooked on at the start included

    [[acts]]
    id = "bag-out"
    who = ["EV1"]
    does = "fetch"
    item = "bag"
    at = "H01"
    minutes = [2, 3, 5]                  # low, usual, high; or one number

    [[acts]]
    id = "valve"
    who = ["EV1", "EV2"]                 # together: both are there, both are busy
    does = "work"
    at = "W3"
    minutes = 25
    after = ["power-off"]                # acts or gates that must be done before

    [[acts]]
    id = "power-off"
    who = ["ground"]
    does = "action"
    minutes = 2
    after = ["bag-out"]
    still = ["EV1"]                      # who holds still meanwhile

    [[gates]]
    id = "both-in"
    needs = ["ev1-in", "ev2-in"]
    opens = ["arm-lets-go"]

Times of the clock are minutes from the start of the outing (PET). What an act
changes (where an item is) changes when the act is done.

The first in ``who`` handles the item and is at ``at``; who does it together from
another place is ``beside`` that. Items go from hand to hand by a ``put`` ``into`` a
person or a ``fetch`` ``out_of`` one, both of them in ``who``. ``way = "retrace"`` goes back
along the line, ``way = "recover"`` takes up every safety tether. A payload may be held
by a holder (an arm) until an action ``lets_go`` of it; it ``spans`` the sites from which
it can be worked on. An act with ``spare`` belongs to a get-ahead and is left out
unless that is asked for; one with ``may_drop`` belongs to a group that is done, but may be
dropped as a whole when time is lost. The acts of an ``errand`` are done in a row by one
person; in which order errands that stand together are done, and by whom, may be looked for.
"""

from typing import Annotated, Any, Literal, TypeAlias

from pydantic import Field, model_validator

from routing.outings.plan_file.act_record import Act, Ids, SiteId, SiteIds
from structures.fields import (
    BodyRadius,
    Flag,
    HandReach,
    Identifier,
    Length,
    Number,
    PositiveLength,
    PositiveNumber,
    Record,
    Text,
    TranslationRate,
)

__all__ = [
    "Act",
    "Bag",
    "Blocks",
    "Errand",
    "Gate",
    "GetAhead",
    "Holder",
    "ItemKind",
    "MayDrop",
    "OptionalWork",
    "Outing",
    "OutingItem",
    "OutingLimits",
    "OutingPerson",
    "block_source",
]

ItemKind: TypeAlias = Literal["tool", "bag", "restraint", "tether", "payload", "cable"]


class Gate(Record):
    """A point that several things must reach before others begin."""

    id: Identifier
    """Its name in references: unique in the plan, across all lists."""
    name: Text = ""
    """What people call it; not given: its id."""
    needs: Annotated[Ids, Field(min_length=1)]
    """Acts or gates that must all be done."""
    opens: Ids = ()
    """Acts that wait for it (an act may also name the gate in ``after``)."""


class OptionalWork(Record):
    """Acts that are done together or not at all."""

    id: Identifier
    """Its name, for the acts that belong to it: unique in the plan."""
    name: Text = ""
    """What people call it; not given: its id."""
    worth: PositiveNumber = 1.0
    """What it is worth beside the others."""


class GetAhead(OptionalWork):
    """Work that is done only if there is time left; acts name it under ``spare``."""


class MayDrop(OptionalWork):
    """Work that may be dropped when time is lost; acts name it under ``may_drop``."""


class Errand(Record):
    """Acts that one person does in a row, where who does them and when is free; acts name it.

    Errands that stand in a row in the plan may change places with each other, and go from one
    person to the other.
    """

    id: Identifier
    """Its name, for the acts that belong to it: unique in the plan."""
    name: Text = ""
    """What people call it; not given: its id."""
    who: Ids = ()
    """The people who may do it; nobody named: everybody of the plan."""


class OutingPerson(Record):
    """One person outside. What is not given comes from the structure's person, then the limits."""

    id: Identifier
    """The name acts use: unique in the plan, and not inside or ground."""
    name: Text = ""
    """What people call this person; not given: the id."""
    person: Identifier | None = None
    """Whom of the structure's people this is."""
    reach_m: HandReach | None = None
    """Largest gap from hand to hand on the way [m]."""
    rate_m_per_s: TranslationRate | None = None
    """Translation rate without load [m/s]."""
    corridor_radius_m: BodyRadius | None = None
    """Radius of the ball that holds the suited body [m]."""
    body: Identifier | None = None
    """The size of the body in a foot restraint: one of the structure's bodies."""
    start: Identifier
    """The hatch where this person begins and must end."""
    protocol: Literal["leapfrog", "reel"] = "reel"
    """On safety tethers: *leapfrog* hooks on two in turn, *reel* pays out a line behind."""
    reels_m: tuple[PositiveLength, ...] = ()
    """Lengths of the reels carried [m], the one hooked on at the start included; none given: two
    of the limits'. The order says nothing: which of different lengths is hooked on first is
    chosen with the first way, and the answer says it."""
    leaves: Ids = ()
    """Tether points at which a safety tether may stay outside at the end."""
    hangs: Annotated[int, Field(ge=0, le=20)] = 6
    """How many items can hang on the suit (own planning assumption)."""


class Bag(Record):
    """What a bag holds."""

    most_items: Annotated[int, Field(ge=1, le=500)]
    """How many items it holds."""
    volume_l: PositiveNumber
    """Room inside; items count with the box round them [l]."""


class Holder(Record):
    """Something that holds a payload from outside the structure, for instance an arm."""

    id: Identifier
    """Its name, for items that are at it: unique in the plan."""
    name: Text = ""
    """What people call it; not given: its id."""
    at: SiteId
    """The site at which what it holds can be reached."""


class OutingItem(Record):
    """An item of the outing: one of the structure's, or one that is brought along."""

    id: Identifier
    """Its name, unique in the plan: that of an item of the structure, or a new one."""
    name: Text = ""
    """What people call it; not given: its id."""
    kind: ItemKind = "tool"
    """What sort of thing it is; only a bag has ``bag``."""
    at: SiteId | None = None
    """Where it is at first: a site, an item, a person or a holder; not given: where the structure
    stows it."""
    ends_at: SiteId | None = None
    """Where it belongs at the end; not given: where it is at first."""
    ends_anywhere: Flag = False
    """Whether it may be left anywhere at the end."""
    size_m: tuple[PositiveLength, PositiveLength, PositiveLength] | None = None
    """Full edge lengths of the box round it [m]; not given: the structure's."""
    mass_kg: PositiveNumber | None = None
    """Its mass [kg]; not given: the structure's."""
    envelope_m: Length | None = None
    """What it adds to the corridor radius when carried."""
    bag: Bag | None = None
    """What it holds, if it is a bag."""
    model: Identifier | None = None
    """Which of the structure's restraints, cameras or cables it is; not given: the only one there
    is, if there is just one. Where the structure lists no restraints, ``standard`` is the built-in
    one."""
    spans: SiteIds = ()
    """Sites from which a large payload can be worked on while it is at any one of them."""

    @model_validator(mode="after")
    def _fits_kind(self) -> "OutingItem":
        if (self.kind == "bag") != (self.bag is not None):
            raise ValueError(
                f"a bag says what it holds and nothing else does; write bag = {{ most_items = 6, "
                f"volume_l = 40.0 }} for bags only (item {self.id})"
            )
        if self.ends_anywhere and self.ends_at is not None:
            raise ValueError(f"ends_at and ends_anywhere exclude each other; keep one ({self.id})")
        return self


BlockMinutes: TypeAlias = Annotated[Number, Field(ge=0, le=600)]
"""Range and number in one alias: a range given with the default is left out by `Number`."""


def _block(default_min: float, source: str) -> Any:
    return Field(default_min, json_schema_extra={"source": source})


class Blocks(Record):
    """Blocks of the clock before the first act and after the last one [min]."""

    after_depress_min: BlockMinutes = _block(
        5.0, "post-depress 5 min (NASA EVA timelines of 2013-07-12 and MSG 16-0256)"
    )
    """From depressurisation to the beginning of egress [min]."""
    egress_min: BlockMinutes = _block(
        30.0, "egress and setup 30 min (NASA EVA timeline of 2013-07-12; 35 and 38 elsewhere)"
    )
    """Getting out and setting up [min]."""
    ingress_min: BlockMinutes = _block(
        45.0, "clean-up and ingress 45 min (NASA EVA timeline of 2013-07-12; 20 to 50 elsewhere)"
    )
    """Cleaning up and getting in [min]."""
    before_repress_min: BlockMinutes = _block(
        5.0, "pre-repress 5 min (NASA EVA timelines of 2013-07-12 and MSG 16-0256)"
    )
    """From the end of ingress to repressurisation [min]."""


class OutingLimits(Record):
    """Limits of an outing as a whole, beside those that people move under."""

    planned_min: BlockMinutes = _block(
        390.0, "nominal timeline 6 h 30 min (NASA timeline of 2013-07-12)"
    )
    """The outing is planned to be no longer than this [min]."""
    consumables_min: BlockMinutes = _block(
        420.0, "suit design 7 h (NASA mishap report IRIS S-2013-199-00005, issuu page 40)"
    )
    """What the suits carry lasts this long [min]."""
    small_item_kg: Annotated[Number, Field(ge=0)] = Field(
        5.0,
        json_schema_extra={
            "source": "own planning assumption, no source: up to this mass an item hung on the "
            "suit does not slow a person down"
        },
    )
    """Up to this mass an item hung on the suit does not slow a person down [kg]."""
    small_item_m: Length = Field(
        0.5,
        json_schema_extra={
            "source": "own planning assumption, no source: an item hung on the suit with no edge "
            "longer than this stays within the corridor of the suited body"
        },
    )
    """An item hung on the suit with a longer edge counts as a load, however light it is [m]."""


def block_source(record_type: type[Record], name: str) -> str:
    """Return where the default of a block or limit comes from.

    Raises
    ------
    KeyError
        The record has no such field.
    TypeError
        The field was declared without a source.
    """
    extra = record_type.model_fields[name].json_schema_extra
    if not isinstance(extra, dict):
        raise TypeError(f"{name} has no source")
    return str(extra["source"])


class Outing(Record):
    """A whole plan: who goes out with what, what each does, and what waits for what."""

    schema_version: Literal[1] = 1
    """Version of the document's schema."""
    name: Text
    """What the outing is called; shown in every answer."""
    revision: Text = ""
    """Revision of the plan; shown in every answer."""
    description: Text = ""
    """What the outing is for, for people."""
    source: Text = ""
    """Where the plan is from."""
    structure: Text
    """The structure's document, seen from the folder of the plan."""
    limits: Text = ""
    """A document of limits that replace defaults, seen from the folder of the plan."""
    when: Ids = ()
    """Conditions in force from the start."""
    closed: Ids = ()
    """Handrails, handholds, sockets and tether points out of use."""
    hung_past: Ids = ()
    """Keep-out zones for items into which small items on the suit may come all the same: whoever
    answers for the zone has accepted it, and it is still told as something to watch."""
    blocks: Blocks = Blocks()
    """Blocks of the clock before the first act and after the last one."""
    outing_limits: OutingLimits = OutingLimits()
    """Limits of the outing as a whole."""
    people: Annotated[tuple[OutingPerson, ...], Field(max_length=4)]
    """Who goes out: one to four people."""
    holders: tuple[Holder, ...] = ()
    """What holds payloads from outside the structure, an arm for instance."""
    items: tuple[OutingItem, ...] = ()
    """What the outing takes along or works on."""
    acts: Annotated[tuple[Act, ...], Field(max_length=2000)]
    """What is done: the order of each person's acts is the order here."""
    gates: tuple[Gate, ...] = ()
    """Points that several acts must reach before others begin."""
    get_aheads: tuple[GetAhead, ...] = ()
    """Work done only if there is time left; acts name it under ``spare``."""
    may_drop: tuple[MayDrop, ...] = ()
    """Groups dropped when time is lost; acts name them under ``may_drop``."""
    errands: tuple[Errand, ...] = ()
    """Acts done in a row by one person, whom and when is free; acts name them."""

    # Not as min_length: that would count wrong entries as missing ones.
    @model_validator(mode="after")
    def _says_something(self) -> "Outing":
        for key, values in (("people", self.people), ("acts", self.acts)):
            if not values:
                raise ValueError(f"a plan without {key} says nothing; add [[{key}]] tables")
        return self
