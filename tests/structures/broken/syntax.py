"""Faults of TOML itself and of naming a CSV file."""

from tests.structures.broken.fault import DEEP, Fault

__all__ = ["SYNTAX_FAULTS"]

SYNTAX_FAULTS = [
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
]
