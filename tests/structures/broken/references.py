"""Faults of ids and of what refers to them."""

from tests.structures.broken.fault import Fault

__all__ = ["REFERENCE_FAULTS"]

REFERENCE_FAULTS = [
    # Ids and references
    Fault("no-id", 'id = "dish"\n', "", ":32 solids[4].id", "id is missing", 'id = "text"'),
    Fault("empty-id", '"dish"', '""', ":33 solids[4].id", "''", "at least 1"),
    Fault("spaced-id", '"dish"', '"the dish"', ":33 solids[4].id", "'the dish'", "no white space"),
    Fault("at-id", '"dish"', '"dish@2"', ":33 solids[4].id", "'dish@2'", "no @"),
    Fault("long-id", '"dish"', f'"{"d" * 65}"', ":33 solids[4].id", "65 characters", "at most 64"),
    Fault("long-text", '"Trunk"', f'"{"t" * 2001}"', ":17 solids[0].name", "2001", "at most 2000"),
    *(
        Fault(
            f"unseen-id-{code:X}",
            '"dish"',
            f'"di\\U{code:08X}sh"',
            ":33 solids[4].id",
            f"invisible character U+{code:04X} ({name})",
            "leave it out",
        )
        for code, name in (
            (0x9B, "a control character"),
            (0xAD, "SOFT HYPHEN"),
            (0x200B, "ZERO WIDTH SPACE"),
            (0x202E, "RIGHT-TO-LEFT OVERRIDE"),
            (0x2066, "LEFT-TO-RIGHT ISOLATE"),
            (0xFEFF, "ZERO WIDTH NO-BREAK SPACE"),
            (0xE0041, "TAG LATIN CAPITAL LETTER A"),
        )
    ),
    Fault("line-id", '"dish"', '"di\\u2028sh"', ":33 solids[4].id", "may not have", "no white"),
    Fault(
        "unseen-ref", '"socket-1"\ntie', '"socket\\u200b-1"\ntie', ":62", "U+200B", "leave it out"
    ),
    Fault("same-id", '"dish"', '"locker"', ":33 solids[4].id", "'locker' is taken", "of its own"),
    Fault(
        "same-id-other-kind",
        '"dish"',
        '"pump"',
        ":60 worksites[0].id",
        "taken already by solids[4]",
        "own",
    ),
    Fault(
        "same-id-in-csv", '"dish"', '"rail-1"', "rails.csv:2 handrails[0].id", "taken", "of its own"
    ),
    Fault(
        "same-target",
        '"bolt-2"',
        '"bolt-1"',
        ":66 worksites[0].targets[1].id",
        "twice",
        "of its own",
    ),
    Fault(
        "no-socket",
        'socket = "socket-1"',
        'socket = "socket-2"',
        ":62 worksites[0].socket",
        "'socket-2'",
        "socket-1?",
    ),
    Fault(
        "wrong-kind",
        'socket = "socket-1"',
        'socket = "tp-1"',
        "worksites[0].socket",
        "no socket",
        "'tp-1' is a tether point",
    ),
    Fault(
        "no-tether-point",
        'tether_point = "tp-1"',
        'tether_point = "home"',
        ":57 hatches[0].tether_point",
        "'home'",
        "add it first",
    ),
    Fault("no-condition", '["radar-on"]', '["radar"]', "zones[0].when", "'radar'", "radar-on?"),
    Fault("case", '["radar-on"]', '["RADAR-ON"]', "zones[0].when", "'RADAR-ON'", "mean radar-on?"),
    Fault(
        "no-rail",
        'closes = ["rail-2"]',
        'closes = ["rail-9"]',
        "conditions[1].closes",
        "'rail-9'",
        "rail-",
    ),
    Fault(
        "no-stowage",
        'stowed_at = "hatch"',
        'stowed_at = "shelf"',
        "items[0].stowed_at",
        "'shelf'",
        "add it",
    ),
    Fault(
        "stowed-in-itself",
        'stowed_at = "hatch"',
        'stowed_at = "bag"',
        "items[0].stowed_at",
        "bag in bag",
        "stow",
    ),
    Fault(
        "two-places",
        'socket = "socket-1"\n',
        'socket = "socket-1"\nhandrail = "rail-1"\n',
        ":59 worksites[0]",
        "one socket or",
        "just one",
    ),
    Fault(
        "no-place", "place = [60, 0, -84]\n", "", "worksites[1]", "place goes with handrail", "both"
    ),
    Fault(
        "restraint-both-ways",
        'socket = "socket-1"\n',
        'socket = "socket-1"\nwithout_restraint = true\n',
        "worksites[0]",
        "without_restraint goes with handrail",
        "name a handrail",
    ),
    Fault(
        "flag-text",
        'name = "Trunk"',
        'kick_sensitive = "yes"',
        ":17 solids[0].kick",
        "'yes'",
        "true or false",
    ),
    Fault(
        "flag-number",
        'name = "Trunk"',
        "kick_sensitive = 1",
        ":17 solids[0].kick",
        "1",
        "true or false",
    ),
]
