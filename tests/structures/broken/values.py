"""Faults of values: keys, frames, numbers, vectors, choices, shapes."""

from tests.structures.broken.fault import Fault

__all__ = ["VALUE_FAULTS"]

VALUE_FAULTS = [
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
]
