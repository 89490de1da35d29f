"""Faults of restraints, bodies, faces, cameras, cables and equipment tethers."""

from tests.structures.broken.fault import Fault

__all__ = ["EQUIPMENT_FAULTS"]

EQUIPMENT_FAULTS = [
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
