"""What the fitter types at the bench, and what the computing cores make of exactly that.

The bike was laid out on paper, in mm from the bottom bracket with the floor at −270, so that its readings agree to a tenth of a
millimetre: then the adjustment leaves every reading as it was typed, and the sheet must print just that.
Before: datum (−210, 720), nose 150 mm in front of it and 2° down, hoods at 500 and, on average, 645.
After: datum (−198, 729.3), nose 150 mm in front of it and level, hoods at 490 and, on average, 655.
"""

from sessions.geometry.changes import REAL_FACTOR, compare, left_right
from sessions.quantities import quantity
from sessions.sheets.numbers import METRIC, NOTHING
from sessions.tape.fit import solve_fit
from sessions.tape.taking import take

BODY = {"Inseam": "33 1/4 in", "Thigh": "410", "Shank": "42,5 cm", "Ankle height": "85"}
BODY_MM = {"inseam": 844.55, "thigh": 410.0, "shank": 425.0, "ankle_height": 85.0}

# As typed, and in mm or degrees.
BEFORE = {
    "bb_height": ("270", 270.0),
    "crank_length": ("172.5", 172.5),
    "saddle_height": ("75 cm", 750.0),  # √(210² + 720²)
    "setback_nose": ("60.1", 60.1),
    "saddle_tilt": ("-2", -2.0),
    "nose_to_hood": ("564,4", 564.4),  # √(560.1² + 69.8²) = 564.43
    "drop": ("75", 75.0),
    "hood_height_left": ("918", 918.0),
    "hood_height_right": ("912", 912.0),
    "hood_reach_left": ("500", 500.0),
    "hood_reach_right": ("500", 500.0),
    "cleat_fore_aft_left": ("-6", -6.0),
    "cleat_fore_aft_right": ("-9", -9.0),
    "cleat_rotation_left": ("3", 3.0),
    "cleat_rotation_right": ("4", 4.0),
    "setback_datum": ("210", 210.0),
}
AFTER = {
    "saddle_height": ("755.7", 755.7),  # √(198² + 729.3²)
    "setback_nose": ("48", 48.0),
    "saddle_tilt": ("0", 0.0),
    "nose_to_hood": ("543.1", 543.1),  # √(538² + 74.3²) = 543.11
    "drop": ("74.3", 74.3),
    "hood_height_left": ("925.5", 925.5),
    "hood_height_right": ("924.5", 924.5),
    "hood_reach_left": ("490", 490.0),
    "hood_reach_right": ("490", 490.0),
    "cleat_fore_aft_left": ("-12", -12.0),
    "cleat_fore_aft_right": ("-11", -11.0),
    "setback_datum": ("198", 198.0),
}
UNTOUCHED = tuple(key for key in BEFORE if key not in AFTER)


def typed_figures(key):
    """A reading before and after as it was typed, written as the sheet writes figures."""
    before = BEFORE[key][1]
    after = AFTER[key][1] if key in AFTER else before
    return [METRIC.value(quantity(key).unit, value) for value in (before, after)]


def solved():
    """Both positions as the tape core solves them from what was typed; what was not touched still holds."""
    before = {key: value for key, (_typed, value) in BEFORE.items()}
    after = before | {key: value for key, (_typed, value) in AFTER.items()}
    return tuple(solve_fit([take(key, value) for key, value in each.items()]) for each in (before, after))


def position_rows():
    """The rows of before, after and change that the cores give, by dimension: label to the five figures."""
    before, after = solved()
    return {each.label: _change_cells(each) for each in compare(before.dimensions, after.dimensions)}


def _change_cells(change):
    figures = [METRIC.value(change.unit, each.value) for each in (change.before, change.after)]
    if change.key in UNTOUCHED:
        return [*figures, "not touched", NOTHING, NOTHING]
    delta = METRIC.value(change.unit, change.delta, signed=True)
    error = METRIC.value(change.unit, REAL_FACTOR * change.sigma)
    return [*figures, delta, error, "real" if change.real else "within error"]


def side_rows():
    """The rows of left against right, as the bike stands after the changes."""
    _before, after = solved()
    return {each.label: _side_cells(each) for each in left_right(after.dimensions)}


def _side_cells(side):
    figures = [METRIC.value(side.unit, each.value) for each in (side.left, side.right)]
    difference = METRIC.value(side.unit, side.difference, signed=True)
    error = METRIC.value(side.unit, REAL_FACTOR * side.sigma)
    return [*figures, difference, error, "real" if side.real else "within error"]


def label(key):
    """What the page calls a reading."""
    return quantity(key).label
