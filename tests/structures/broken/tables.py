"""Faults of a CSV table."""

from tests.structures.broken.fault import Fault

__all__ = ["TABLE_FAULTS"]

TABLE_FAULTS = [
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
