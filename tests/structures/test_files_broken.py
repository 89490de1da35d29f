"""One good document, one fault at a time: each is named with its place, value and remedy."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from structures.errors import InvalidDocumentError, Problem
from structures.files import read_structure

GOOD = Path(__file__).parent / "broken"
DEEP = 100_000


class Fault(NamedTuple):
    """A text of the good file and what stands in its place, and what the problem must say."""

    name: str
    old: str
    new: str
    place: str
    message: str
    remedy: str


TOML_FAULTS = [
    # What the document says first
    Fault("no-version", "schema_version = 1\n", "", "schema_version", "no schema_version", "= 1"),
    Fault("later-version", "n = 1\n", "n = 2\n", ":1 schema_version", "version is 2", "1"),
    Fault("version-text", "n = 1\n", 'n = "1"\n', ":1 schema_version", "'1'", "whole number 1"),
    Fault("version-true", "n = 1\n", "n = true\n", ":1 schema_version", "true", "whole number 1"),
    Fault("version-float", "n = 1\n", "n = 1.0\n", ":1 schema_version", "1.0", "whole number 1"),
    Fault("no-unit", 'length_unit = "in"\n', "", "length_unit", "no length_unit", '"m", "ft"'),
    Fault("unknown-unit", '"in"', '"cm"', ":2 length_unit", "'cm' is not known", '"m", "ft"'),
    Fault("unit-number", '"in"', "12", ":2 length_unit", "12", '"m", "ft" or "in"'),
    Fault("no-name", 'name = "Test depot"\n', "", "name", "name is missing", 'name = "text"'),
    Fault("name-number", '"Test depot"', "7", ":3 name", "7 is not a text", '"quotes"'),
    Fault("date-bare", '"2031-05-01"', "2031-05-01", ":5 date", "2031-05-01", '"quotes"'),
    Fault("unknown-key", "revision =", "revison =", ":4 revison", "'revison'", "revision?"),
    Fault("unknown-list", "[[solids]]", "[[solid]]", ":15 solid", "'solid'", "solids?"),
    Fault("strange-key", "date =", '"a\\u001bb" =', ":5 'a\\x1bb'", "'a\\x1bb'", "the keys here"),
    # The frame
    Fault("frame-text", "[frame]\n", 'frame = "x"\n[people2]\n', ":9 frame", "'x'", "frame = {"),
    Fault("frame-mirror", 'x = "x"', 'x = "-x"', ":9 frame", "left-handed", "turn one sign"),
    Fault("frame-twice", 'y = "y"', 'y = "x"', ":9 frame", "once each", '"-x"'),
    Fault("frame-axis", 'y = "y"', 'y = "up"', ":11 frame.y", "'up' is not an axis", '"-y"'),
    Fault("frame-lacks", 'y = "y"\n', "", ":9 frame.y", "not given", '"-y"'),
    Fault("frame-key", "offset =", "ofset =", ":13 frame.ofset", "'ofset'", "x, y, z and offset"),
    Fault("frame-short", "[0, 0, 0]\n", "[0, 0]\n", ":13 frame.offset", "[0, 0]", "three numbers"),
    Fault("frame-far", "[0, 0, 0]\n", "[0, 9e9, 0]\n", ":13 frame.offset", "9000000", "10000 m"),
    Fault("frame-nan", "[0, 0, 0]\n", "[0, nan, 0]\n", ":13 frame.offset", "nan", "three numbers"),
    # Numbers and lengths
    Fault("nan", "radius = 80 }", "radius = nan }", ":18 solids[0].volume.radius", "nan", "finite"),
    Fault("inf", "radius = 80 }", "radius = inf }", ":18 solids[0].volume.radius", "inf", "finite"),
    Fault("overflow", "end = [400", "end = [1e999", ":18 solids[0].volume.end[0]", "inf", "1e999"),
    Fault(
        "huge-whole",
        "end = [400",
        f"end = [{'9' * 400}",
        ":18 solids[0].volume.end[0]",
        "more than 30 digits",
        "finite",
    ),
    Fault("far", "end = [400", "end = [4e6", ":18 solids[0].volume.end", "101600 m", "length unit"),
    Fault("negative", "radius = 80 }", "radius = -80 }", "volume.radius", "-80 in", "above 0 in"),
    Fault("zero", "radius = 30 }", "radius = 0 }", ":34 solids[4].volume.radius", "0 in", "above"),
    Fault("text", "radius = 30 }", 'radius = "30" }', "solids[4].volume.radius", "'30'", "2.5"),
    Fault("true", "radius = 30 }", "radius = true }", "solids[4].volume.radius", "true", "2.5"),
    Fault("rating", "rating_n = 2600", "rating_n = -1", ":50 tether_points", "-1 N", "above 0 N"),
    Fault("mass", "mass_kg = 12.5", "mass_kg = 0", "items[0].mass_kg", "0 kg", "above 0 kg"),
    Fault("power", "power_w = 10", "power_w = 0.0", "zones[0].volume.power_w", "0.0 W", "0 W"),
    Fault("rate", "rate = 6", "rate = -6", "people[0].rate", "-6 in/s", "above 0 in/s"),
    Fault("staged", "staged = [1020]", "staged = [0]", ":51 tether_points[0].staged[0]", "0", "0"),
    Fault("slow-factor", "slow_factor = 3", "slow_factor = 0.5", "slow_factor", "0.5", "least 1"),
    Fault(
        "slow-endless", "slow_factor = 3", "slow_factor = 1e308", "slow_factor", "1e+308", "1000"
    ),
    # Vectors and lists
    Fault(
        "short-vector",
        "[300, 0, -84]",
        "[300, 0]",
        ":38 handholds[0].position",
        "2 entries",
        "x, y, z",
    ),
    Fault(
        "long-vector", "[300, 0, -84]", "[3, 0, -84, 1]", ":38 handholds", "4 entries", "x, y, z"
    ),
    Fault("vector-text", "[300, 0, -84]", '"here"', ":38 handholds[0].position", "'here'", "[x, y"),
    Fault("vector-entry", "[300, 0, -84]", '[300, "a", 1]', "position[1]", "'a'", "2.5"),
    Fault(
        "zero-normal",
        "normal = [0, 0, -1]\n\n[[soc",
        "normal = [0, 0, 0]\n\n[[soc",
        ":39 handholds[0].normal",
        "length 0",
        "not all zero",
    ),
    Fault(
        "list-number",
        'handrails = "rails.csv"',
        "handrails = 5",
        ":7 handrails",
        "5 is",
        "[[handrails]]",
    ),
    Fault(
        "element-text",
        'handrails = "rails.csv"',
        'handrails = ["a", "b"]',
        ":7 handrails[0]",
        "'a'",
        "table",
    ),
    Fault(
        "ids-text",
        'when = ["radar-on"]',
        'when = "radar-on"',
        "zones[0].when",
        "'radar-on'",
        '["text"',
    ),
    Fault(
        "empty-choice",
        'applies_to = ["body"]',
        "applies_to = []",
        "zones[1].applies_to",
        "0 entries",
        "at least 1",
    ),
    # Choices
    Fault(
        "wrong-choice", '"slow-down"', '"slowdown"', "zones[1].kind", "'slowdown'", "'slow-down'"
    ),
    Fault("applies-to", '["body"]', '["bodies"]', "applies_to[0]", "'bodies'", "'tether'"),
    Fault("hands", "hands = 2", "hands = 3", ":66 worksites[0].targets[1].hands", "3", "1 or 2"),
    Fault("unknown-shape", '"sphere"', '"ball"', ":34 solids[4].volume", "'ball'", "'sphere'"),
    Fault("no-shape", 'shape = "sphere", ', "", ":34 solids[4].volume", "no shape", "'sphere'"),
    Fault(
        "unit-in-key", "radius = 30 }", "radius_m = 30 }", "radius_m", "'radius_m'", "write radius;"
    ),
    Fault(
        "key-of-other-shape",
        "center = [500, 0, 0], radius",
        "center = [500, 0, 0], size",
        "volume.size",
        "'size'",
        "shape, center, radius",
    ),
    Fault(
        "no-volume",
        'volume = { shape = "sphere", center = [500, 0, 0], radius = 30 }\n',
        "",
        ":32 solids[4].volume",
        "volume is missing",
        "shape =",
    ),
    # Shapes
    Fault(
        "no-length",
        "end = [400, 0, 0]",
        "end = [0, 0, 0]",
        ":18 solids[0].volume",
        "same point",
        "above 0",
    ),
    Fault(
        "cone-point",
        "start_radius = 80, end_radius = 40",
        "start_radius = 0, end_radius = 0",
        "solids[2].volume",
        "radii are 0",
        "above 0",
    ),
    Fault(
        "skew-box",
        "y_axis = [-1, 0, 0]",
        "y_axis = [-1, 1, 0]",
        ":22 solids[1].volume",
        "45.000 deg",
        "right angles",
    ),
    Fault(
        "self-crossing",
        "[20, 0], [20, 10]",
        "[20, 10], [20, 0]",
        ":30 solids[3].volume",
        "crosses itself",
        "in order",
    ),
    Fault(
        "two-corners",
        "[[0, 0], [20, 0], [20, 10], [0, 10]]",
        "[[0, 0], [20, 0]]",
        "volume.outline",
        "2 entries",
        "at least 3",
    ),
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
    # Foot restraints and bodies
    Fault("no-body", 'body = "long"', 'body = "lnog"', ":149 people[1].body", "'lnog'", "long?"),
    Fault("clock-zero", "positions = 12", "positions = 0", ":118 restraints[0]", "0", "least 1"),
    Fault("clock-many", "positions = 12", "positions = 99", ":118 restraints[0]", "99", "most 72"),
    Fault("clock-part", "positions = 12", "positions = 1.5", ":118 restraints", "1.5", "point"),
    Fault("boots", "boots_width = 12", "boots_width = 0", "boots_width", "0 in", "above 0 in"),
    Fault("moment", "rating_nm = 500", "rating_nm = 0", "rating_nm", "0 N m", "above 0 N m"),
    Fault(
        "axis",
        't", axis = [0, 1, 0]',
        't", axis = [0, 0, 0]',
        "joints[0].axis",
        "nowhere",
        "not all",
    ),
    Fault(
        "axis-short",
        't", axis = [0, 1, 0]',
        't", axis = [0, 1]',
        "joints[0].axis",
        "2 entries",
        "x, y",
    ),
    Fault("joint-down", "lowest_deg = -90", "lowest_deg = 95", "joints[0]", "down to 90", "lower"),
    Fault("joint-step", "step_deg = 15", "step_deg = 50", "joints[0]", "of 50 deg", "whole number"),
    Fault("joint-fine", "step_deg = 15", "step_deg = 0.5", "joints[0]", "361 pos", "at most 360"),
    Fault("joint-turns", "highest_deg = 90", "highest_deg = 900", "joints[0]", "900 deg", "360"),
    Fault("joint-twice", 'id = "turn"', 'id = "tilt"', "restraints[0]", "same id", "its own id"),
    Fault(
        "settings-many", "step_deg = 30", "step_deg = 0.5", "joints[1]", "661 positions", "at most"
    ),
    Fault(
        "settings-more",
        '{ id = "turn"',
        '{ id = "b", axis = [1, 0, 0], lowest_deg = 0, highest_deg = 180, step_deg = 1 },'
        '{ id = "turn"',
        "restraints[0]",
        "338832 settings",
        "100000",
    ),
    Fault("hips", "hip_height = 34", "hip_height = 61", "bodies[0]", "not below shoulder", "go up"),
    Fault("eyes", "eye_height = 69", "eye_height = 76", "bodies[0]", "not below height", "go up"),
    Fault("arm", "farthest = 30", "farthest = 8", "bodies[0]", "not below one_hand", "depth"),
    Fault("trunk", "corridor_radius = 13.5", "corridor_radius = 21", "bodies[0]", "ball", "hips"),
    Fault("legs", "leg_radius = 8", "leg_radius = 18", "bodies[0]", "leg_radius", "hips"),
    Fault("view", "view_angle_deg = 60", "view_angle_deg = 190", "view_angle", "190 deg", "180"),
    # Faces and cameras
    Fault(
        "face-turned", "across = [1, 0, 0]", "across = [1, 0, 1]", "faces[0]", "135.000", "right"
    ),
    Fault("face-flat", "size = [20, 10]", "size = [20, 0]", "faces[0].size[1]", "0 in", "above 0"),
    Fault("face-bare", "size = [20, 10]", "", "faces[0]", "neither a size", "outline"),
    Fault(
        "face-both",
        "size = [20, 10]",
        "size = [20, 10]\noutline = [[0, 0], [9, 0], [0, 9]]",
        "faces[0]",
        "both",
        "its outline",
    ),
    Fault(
        "face-crossed",
        "size = [20, 10]",
        "outline = [[0, 0], [9, 9], [9, 0], [0, 9]]",
        "faces[0]",
        "crosses itself",
        "in order round",
    ),
    Fault("camera-depth", "farthest = 140", "farthest = 20", "cameras[0]", "not below", "range"),
    Fault("camera-slant", "incidence_deg = 60", "incidence_deg = 90", "cameras[0]", "90", "below"),
    # TOML itself
    Fault("no-value", "rate = 6", "rate =", ":106", "not valid TOML", "quotes"),
    Fault("no-equals", "rate = 6", "rate 6", ":106", "in 'rate 6'", "key = value"),
    Fault("key-twice", "rate = 6", "reach = 6", ":106", "overwrite", "each key once"),
    Fault("table-twice", "[[people]]", "[frame]", "", "twice", "double brackets"),
    Fault("open-quote", '"EV1"', '"EV1', ":104", "EV1", "quote"),
    Fault("open-list", "size = [20, 15, 10]", "size = [20, 15, 10", "", "Unclosed array", "]"),
    Fault("bad-escape", '"Trunk"', '"Tr\\unk"', ":17", "not valid TOML", "backslash"),
    Fault("bare-word", '"Trunk"', "Trunk", ":17", "not valid TOML", "quotes"),
    Fault(
        "many-digits",
        "rate = 6",
        f"rate = {'6' * 5000}",
        "depot.toml",
        "thousands of digits",
        "2.5",
    ),
    Fault(
        "dotted-deep", "rate = 6", f"{'a.' * 5000}b = 6", ":106", "more than 16 dotted", "3 parts"
    ),
    Fault(
        "nested-deep",
        "rate = 6",
        f"rate = {'[' * DEEP}{']' * DEEP}",
        "depot.toml",
        "nested",
        "flat",
    ),
    # Naming the CSV file
    Fault("csv-not-there", '"rails.csv"', '"rail.csv"', "rail.csv", "no such file", "rails.csv?"),
    Fault(
        "csv-absolute", '"rails.csv"', '"/etc/rails.csv"', ":7 handrails", "not relative", "beside"
    ),
    Fault("csv-drive", '"rails.csv"', "'C:\\rails.csv'", ":7 handrails", "not relative", "beside"),
    Fault("csv-outside", '"rails.csv"', '"../rails.csv"', ":7 handrails", "leads out", "beside"),
    Fault(
        "csv-inside-out",
        '"rails.csv"',
        '"a/../../rails.csv"',
        ":7 handrails",
        "leads out",
        "beside",
    ),
    Fault(
        "csv-suffix", '"rails.csv"', '"rails.txt"', ":7 handrails", "does not end in .csv", "beside"
    ),
    Fault(
        "csv-nul", '"rails.csv"', '"ra\\u0000ils.csv"', ":7 handrails", "not a file name", "beside"
    ),
    Fault("csv-no-name", '"rails.csv"', '""', ":7 handrails", "not a file name", "beside"),
    Fault("csv-link", '"rails.csv"', '"link.csv"', ":7 handrails", "by a link", "file itself"),
    Fault("csv-folder", '"rails.csv"', '"folder.csv"', "folder.csv", "a folder", "inside it"),
    Fault(
        "csv-key",
        '"rails.csv"',
        '{ csv = "rails.csv", unit = "in" }',
        ":7 handrails.unit",
        "'unit'",
        "length_unit",
    ),
    Fault(
        "csv-unit",
        '"rails.csv"',
        '{ csv = "rails.csv", length_unit = "cm" }',
        ":7 handrails.length_unit",
        "'cm'",
        '"ft"',
    ),
    Fault(
        "csv-number",
        '"rails.csv"',
        "{ csv = 5 }",
        ":7 handrails.csv",
        "5 is not a text",
        "handrails.csv",
    ),
    Fault(
        "csv-none",
        '"rails.csv"',
        '{ length_unit = "in" }',
        ":7 handrails",
        "no csv is named",
        "handrails.csv",
    ),
    # Cables
    Fault("cable-none", "length = 480\n", "", "cables[0].length", "missing", "length = 2.5"),
    Fault(
        "cable-bend", "bend_radius = 5", "bend_radius = 0", "cables[0].bend_radius", "0 in", "above"
    ),
    Fault("cable-item", 'item = "bag"', 'item = "bog"', "cables[0].item", "'bog'", "bag?"),
    Fault("tie-stow", "stow = 40", "stow = -1", "cable_ties[0].stow", "-1 in", "least 0"),
    Fault(
        "plug-normal",
        "81]\nnormal = [0, 0, -1]",
        "81]\nnormal = [0, 0, 0]",
        "connectors[0].normal",
        "points nowhere",
        "not all zero",
    ),
    # Equipment tethers
    Fault(
        "tether-swapped",
        "extended = 72",
        "extended = 7",
        "equipment_tethers[0]",
        "cinched to 0.3048 m is longer than extended to 0.1778 m",
        "swapped",
    ),
    Fault(
        "tether-hook",
        '["large", "small"]',
        '["large", "huge"]',
        "equipment_tethers[0].hooks[1]",
        "'huge'",
        "'small'",
    ),
    Fault("tether-count", "count = 4", "count = -1", "equipment_tethers[0].count", "-1", "least 0"),
    Fault(
        "tether-count-part",
        "count = 4",
        "count = 4.5",
        "equipment_tethers[0].count",
        "4.5 is not",
        "digits",
    ),
]

CSV_FAULTS = [
    Fault(
        "unknown-column", "standoff,", "standof,", "rails.csv:1 handrails", "'standof'", "standoff?"
    ),
    Fault("unit-column", "standoff,", "standoff_m,", "rails.csv:1", "'standoff_m'", "standoff?"),
    Fault("column-twice", "notes\n", "name\n", "rails.csv:1", "'name', is there twice", "keep one"),
    Fault("no-column-name", "notes\n", "\n", "rails.csv:1", "column 15 has no name", "name it"),
    Fault("no-id-column", "id,name", "notes2,name", "rails.csv:1", "no id", "every row"),
    Fault("no-normal-column", "normal_z", "notes3", "rails.csv:1", "no normal_z", "normal_y"),
    Fault("ragged-short", ",false,bent", "", "rails.csv:3", "13 cells", "one cell per"),
    Fault(
        "ragged-long",
        ",false,bent",
        ",false,bent,and,more",
        "rails.csv:3",
        "17 cells",
        "one cell per",
    ),
    Fault("open-quote", "Rail 2", '"Rail 2', "rails.csv:3", "never closed", '("")'),
    Fault(
        "quote-inside",
        '"Rail 1, zenith"',
        '"Rail" 1',
        "rails.csv:2",
        "not valid CSV",
        "double quotes",
    ),
    Fault(
        "not-a-number",
        "50,0,-84",
        "fifty,0,-84",
        "rails.csv:3 handrails[1].points.start",
        "'fifty'",
        "2.5",
    ),
    Fault("decimal-comma", "50,0,-84", '"50,5",0,-84', "rails.csv:3", "'50,5'", "decimal point"),
    Fault("csv-nan", "50,0,-84", "nan,0,-84", "rails.csv:3", "'nan'", "2.5"),
    Fault("csv-infinity", "50,0,-84", "1e999,0,-84", "rails.csv:3", "'1e999'", "2.5"),
    Fault("underscore", "50,0,-84", "5_0,0,-84", "rails.csv:3", "'5_0'", "2.5"),
    Fault("other-digits", "50,0,-84", "\u0665\u0660,0,-84", "rails.csv:3", "'\u0665\u0660'", "2.5"),
    Fault("half-a-point", "50,0,-84", "50,,-84", "rails.csv:3", "start_y is empty", "start_z"),
    Fault("no-end", "50,0,-84,90,0,-84", "50,0,-84,,,", "rails.csv:3", "no end", "end_x"),
    Fault(
        "no-points",
        "50,0,-84,90,0,-84",
        ",,,,,",
        "rails.csv:3 handrails[1].points",
        "missing",
        "points =",
    ),
    Fault(
        "one-point",
        "100 0 -84; 120 5 -84; 140 5 -84",
        "100 0 -84",
        "rails.csv:4",
        "1 entry",
        "least 2",
    ),
    Fault(
        "flat-point", "120 5 -84", "120 5 ", "rails.csv:4 handrails[2].points", "2 numbers", "x y z"
    ),
    Fault(
        "points-twice", ",,,,,,100 0 -84", "1,0,0,2,0,0,100 0 -84", "rails.csv:4", "both", "one of"
    ),
    Fault(
        "zero-length",
        "90,0,-84,",
        "50,0,-84,",
        "rails.csv:3 handrails[1]",
        "are the same",
        "length",
    ),
    Fault(
        "csv-flag",
        ",false,bent",
        ",no,bent",
        "rails.csv:3 handrails[1].tether_hook",
        "'no'",
        "true",
    ),
    Fault(
        "csv-id-space",
        "rail-2,",
        "rail 2,",
        "rails.csv:3 handrails[1].id",
        "'rail 2'",
        "white space",
    ),
    Fault(
        "csv-id-unseen",
        "rail-2,",
        "rail\u200b-2,",
        "rails.csv:3 handrails[1].id",
        "U+200B",
        "leave it",
    ),
    Fault("csv-id-empty", "rail-2,", ",", "rails.csv:3 handrails[1].id", "id is missing", "id ="),
    Fault(
        "csv-id-twice", "rail-2,", "rail-1,", "rails.csv:3 handrails[1].id", "taken", "of its own"
    ),
    Fault(
        "csv-negative",
        "-1,2.5,true",
        "-1,-2.5,true",
        "rails.csv:2 handrails[0].standoff",
        "-2.5 in",
        "0 in",
    ),
    Fault(
        "csv-zero-normal",
        "0,0,-1,2.5,true",
        "0,0,0,2.5,true",
        "rails.csv:2 handrails[0].normal",
        "length 0",
        "zero",
    ),
    Fault(
        "csv-far",
        "50,0,-84",
        "5e7,0,-84",
        "rails.csv:3 handrails[1].points[0]",
        "1.27e+06 m",
        "length unit",
    ),
    Fault("long-cell", "bent", "b" * 200_000, "rails.csv:3", "131072", "shorten"),
]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    inner = tmp_path / "inner"
    inner.mkdir()
    shutil.copy(GOOD / "good.toml", inner / "depot.toml")
    shutil.copy(GOOD / "rails.csv", inner / "rails.csv")
    shutil.copy(GOOD / "rails.csv", tmp_path / "rails.csv")
    (inner / "link.csv").symlink_to(tmp_path / "rails.csv")
    (inner / "folder.csv").mkdir()
    return inner


def problems_of(path: Path) -> tuple[Problem, ...]:
    with pytest.raises(InvalidDocumentError) as caught:
        read_structure(path)
    assert caught.value.problems
    return caught.value.problems


def check(problems: tuple[Problem, ...], fault: Fault) -> None:
    fitting = [
        problem
        for problem in problems
        if fault.place in problem.place
        and fault.message in problem.message
        and fault.remedy in problem.remedy
    ]
    assert fitting, "\n".join(str(problem) for problem in problems)
    for problem in problems:
        assert problem.place
        assert problem.message
        assert problem.remedy
        assert "pydantic" not in str(problem)
        assert "\n" not in str(problem)
        assert len(str(problem)) < 600


def mutate(path: Path, fault: Fault) -> None:
    text = path.read_text(encoding="utf-8")
    assert fault.old in text, "the good file has changed"
    path.write_text(text.replace(fault.old, fault.new, 1), encoding="utf-8")


def test_good_document_is_good(folder: Path) -> None:
    structure = read_structure(folder / "depot.toml")
    assert [rail.id for rail in structure.handrails] == ["rail-1", "rail-2", "rail-3"]
    assert structure.handrails[0].name == "Rail 1, zenith"
    assert structure.handrails[2].points_m[1] == pytest.approx((3.048, 0.127, -2.1336))
    assert structure.handrails[1].tether_hook is False


@pytest.mark.parametrize("fault", TOML_FAULTS, ids=[fault.name for fault in TOML_FAULTS])
def test_document_with_one_fault(folder: Path, fault: Fault) -> None:
    mutate(folder / "depot.toml", fault)
    check(problems_of(folder / "depot.toml"), fault)


@pytest.mark.parametrize("fault", CSV_FAULTS, ids=[fault.name for fault in CSV_FAULTS])
def test_table_with_one_fault(folder: Path, fault: Fault) -> None:
    mutate(folder / "rails.csv", fault)
    check(problems_of(folder / "depot.toml"), fault)


def test_a_fault_in_a_single_place_is_one_problem(folder: Path) -> None:
    for name in ("far", "negative", "same-id", "no-socket", "short-vector", "zero-normal"):
        shutil.copy(GOOD / "good.toml", folder / "depot.toml")
        fault = next(one for one in TOML_FAULTS if one.name == name)
        mutate(folder / "depot.toml", fault)
        assert len(problems_of(folder / "depot.toml")) == 1, name


Written = Callable[[Path], object]
WHOLE_FILES: list[tuple[str, Written, str, str]] = [
    ("empty.toml", lambda p: p.write_bytes(b""), "is empty", "write the document"),
    ("bom.toml", lambda p: p.write_bytes(b"\xef\xbb\xbf \n"), "is empty", "write the document"),
    ("utf16.toml", lambda p: p.write_bytes("a = 1".encode("utf-16")), "UTF-16", "as UTF-8"),
    ("latin.toml", lambda p: p.write_bytes(b'a = 1\nb = "\xe9"'), "0xE9", "save it as UTF-8"),
    ("folder.toml", lambda p: p.mkdir(), "a folder", "inside"),
    ("zzz.toml", lambda _: None, "no such file", "check"),
    ("depo.toml", lambda _: None, "no such file", "did you mean depot.toml?"),
    ("nul\0.toml", lambda _: None, "bad file name", "check"),
    ("depot.yaml", lambda p: p.write_text("a: 1"), "'.yaml'", ".toml or .json"),
    ("depot", lambda p: p.write_text("a = 1"), "suffix ''", ".toml or .json"),
    ("binary.toml", lambda p: p.write_bytes(b"\x00\x01\x02" * 50), "not valid TOML", "correct"),
    ("brackets.toml", lambda p: p.write_text("a=" + "[" * DEEP), "nested", "flat"),
    ("brackets.json", lambda p: p.write_text("[" * DEEP), "nested", "flat"),
    ("objects.json", lambda p: p.write_text('{"a":' * DEEP), "nested", "flat"),
    ("empty.json", lambda p: p.write_text("{}"), "no schema_version", "schema_version = 1"),
    ("list.json", lambda p: p.write_text("[1]"), "[1], not an object", "length_unit"),
    ("null.json", lambda p: p.write_text("null"), "null", "length_unit"),
    ("text.json", lambda p: p.write_text('{"a" 1}'), "column 6", "double quotes"),
    ("comma.json", lambda p: p.write_text('{"a": 1,}'), "not valid JSON", "none after the last"),
    ("more.json", lambda p: p.write_text('{"a": 1} 2'), "not valid JSON", "double quotes"),
    ("twice.json", lambda p: p.write_text('{"a": 1,\n "a": 2}'), "given twice", "keep one"),
    ("digits.json", lambda p: p.write_text('{"a": ' + "1" * 5000 + "}"), "thousands", "2.5"),
    ("nan.json", lambda p: p.write_text('{"items": [{"mass_kg": NaN}]}'), "nan is not", "finite"),
    ("inf.json", lambda p: p.write_text('{"items": [{"mass_kg": 1e999}]}'), "inf is not", "finite"),
    ("null2.json", lambda p: p.write_text('{"name": null}'), "null is not a text", "quotes"),
    ("half.json", lambda p: p.write_text('{"name": "\\ud800"}'), "not valid text", "half"),
]


@pytest.mark.parametrize(
    ("name", "write", "message", "remedy"), WHOLE_FILES, ids=[repr(one[0]) for one in WHOLE_FILES]
)
def test_file_that_is_no_document(
    folder: Path, name: str, write: Written, message: str, remedy: str
) -> None:
    write(folder / name)
    problems = problems_of(folder / name)
    check(problems, Fault(name, "", "", "", message, remedy))


def test_file_of_200_mb_is_refused_before_it_is_parsed(folder: Path) -> None:
    path = folder / "huge.json"
    with path.open("wb") as stream:
        stream.truncate(200 * 1024 * 1024)
    (problem,) = problems_of(path)
    assert "209715200 bytes" in problem.message
    assert "32 MiB" in problem.remedy


def test_list_that_is_too_long_is_refused(folder: Path) -> None:
    path = folder / "long.json"
    path.write_text('{"handrails": [' + "0,   " * 300_000 + "0]}")
    (problem,) = problems_of(path)
    assert "handrails has 300001 entries" in problem.message


def test_thousands_of_problems_are_counted(folder: Path) -> None:
    path = folder / "many.json"
    path.write_text('{"handrails": [' + "0, " * 3000 + "0]}")
    problems = problems_of(path)
    assert len(problems) < 1100
    assert "more problems" in problems[-1].message


def test_all_problems_come_in_one_go_in_the_order_of_lines(folder: Path) -> None:
    chosen = ["later-version", "nan", "unknown-shape", "no-socket", "wrong-choice", "mass"]
    for name in chosen:
        mutate(folder / "depot.toml", next(one for one in TOML_FAULTS if one.name == name))
    in_table = ["not-a-number", "csv-negative", "flat-point"]
    for name in in_table:
        mutate(folder / "rails.csv", next(one for one in CSV_FAULTS if one.name == name))
    problems = problems_of(folder / "depot.toml")
    for name in chosen + in_table:
        check(problems, next(one for one in TOML_FAULTS + CSV_FAULTS if one.name == name))
    assert len(problems) == len(chosen) + len(in_table)
    places = [problem.place.split()[0].split(":") for problem in problems]
    lines = [int(line) for file, line in places if file == "depot.toml"]
    assert lines == sorted(lines)
    assert [file for file, _ in places] == ["depot.toml"] * 6 + ["rails.csv"] * 3


def test_no_false_references_where_a_table_cannot_be_read(folder: Path) -> None:
    (folder / "rails.csv").unlink()
    said, problem = problems_of(folder / "depot.toml")
    assert "no such file" in problem.message
    assert problem.place == "rails.csv handrails"
    assert said.place == "depot.toml:7 handrails"
    assert said.message.startswith("references to handrails are not checked as long as")


def test_no_false_references_where_a_column_has_a_wrong_name(folder: Path) -> None:
    """Rows in a unit of their own that cannot be used are there all the same."""
    mutate(
        folder / "depot.toml",
        Fault("", '"rails.csv"', '{ csv = "rails.csv", length_unit = "ft" }', "", "", ""),
    )
    mutate(folder / "rails.csv", Fault("", "normal_y", "norm_y", "", "", ""))
    assert [problem.place for problem in problems_of(folder / "depot.toml")] == [
        "rails.csv:1 handrails",
        "rails.csv:1 handrails",
    ]


def test_the_same_fault_of_many_rows_is_told_once(folder: Path) -> None:
    path = folder / "rails.csv"
    header, *rows = path.read_text(encoding="utf-8").splitlines()
    short = [row.rpartition(",")[0] for row in rows] * 10
    path.write_text("\n".join([header, *short, ""]), encoding="utf-8")
    _, problem = problems_of(folder / "depot.toml")
    assert problem.place == "rails.csv:2 handrails"
    assert "this row has 14 cells, the header has 15 columns" in problem.message
    last = 1 + len(short)
    named = ", ".join(str(line) for line in range(3, 23))
    assert problem.message.endswith(f"(the same in lines {named} and {last - 22} more)")


def test_references_are_checked_beside_other_faults(folder: Path) -> None:
    """An element that is wrong in one field can still be referred to."""
    path = folder / "depot.toml"
    mutate(path, Fault("", "clock_zero = [1, 0, 0]", "clock_zero = 0", "", "", ""))
    mutate(path, Fault("", 'stowed_at = "hatch"', 'stowed_at = "shelf"', "", "", ""))
    assert [problem.place for problem in problems_of(path)] == [
        "depot.toml:45 sockets[0].clock_zero",
        "depot.toml:101 items[0].stowed_at",
    ]


def test_message_shows_control_and_direction_signs_escaped(folder: Path) -> None:
    path = folder / "depot.toml"
    mutate(path, Fault("", 'socket = "socket-1"', 'socket = "\\u001b[31m\\u202Ex"', "", "", ""))
    for problem in problems_of(path):
        assert "\x1b" not in str(problem)
        assert "\u202e" not in str(problem)
