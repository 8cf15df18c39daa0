"""Bikes, positions and sheets of the invented studio that several tests print."""

from sessions.geometry.changes import compare, left_right
from sessions.geometry.dimensions import dimensions
from sessions.geometry.points import PointName
from sessions.geometry.position import Position
from sessions.sheets.bike_view import bike_view
from sessions.sheets.content import (
    Bike,
    ComponentChange,
    DiscomfortRow,
    FitSheet,
    Rider,
    SafetyItem,
    Studio,
)
from sessions.sheets.numbers import METRIC
from sessions.sheets.rows import position_row, side_row

ROAD_AFTER = {
    "bottom_bracket": (0.0, 0.0, 0.0),
    "saddle_nose": (-52.0, 731.0, 0.0),
    "saddle_datum": (-196.0, 727.0, 0.0),
    "saddle_tail": (-318.0, 735.0, 0.0),
    "bar_clamp": (418.0, 652.0, 0.0),
    "hood_left": (498.0, 676.0, -212.0),
    "hood_right": (500.0, 672.0, 212.0),
    "lever_tip_left": (560.0, 590.0, -215.0),
    "lever_tip_right": (561.0, 588.0, 215.0),
    "drop_left": (452.0, 552.0, -220.0),
    "drop_right": (453.0, 551.0, 220.0),
    "pedal_axle": (122.0, -122.0, 110.0),
    "front_axle": (588.0, 70.0, 0.0),
    "rear_axle": (-405.0, 70.0, 0.0),
    "steerer_top": (350.0, 640.0, 0.0),
    "floor": (0.0, -270.0, 0.0),
}
ROAD_BEFORE = {
    **ROAD_AFTER,
    "saddle_nose": (-68.0, 716.0, 0.0),
    "saddle_datum": (-212.0, 710.0, 0.0),
    "saddle_tail": (-334.0, 722.0, 0.0),
    "bar_clamp": (438.0, 632.0, 0.0),
    "hood_left": (528.0, 652.0, -212.0),
    "hood_right": (526.0, 640.0, 212.0),
}
AERO_AFTER = {
    **{name: at for name, at in ROAD_AFTER.items() if not name.startswith(("lever", "drop"))},
    "pad_left": (372.0, 700.0, -80.0),
    "pad_right": (374.0, 702.0, 80.0),
    "hood_left": (470.0, 610.0, -200.0),
    "hood_right": (470.0, 610.0, 200.0),
    "bar_clamp": (400.0, 620.0, 0.0),
}
AERO_BEFORE = {**AERO_AFTER, "pad_left": (360.0, 680.0, -80.0), "pad_right": (360.0, 680.0, 80.0)}
SADDLE_HEIGHT_MM = 752.95  # √(196² + 727²)

SHOWN = (
    "saddle_height",
    "setback_nose",
    "saddle_tilt",
    "saddle_to_hood_reach",
    "nose_to_hood",
    "drop",
    "hood_height_left",
    "hood_height_right",
    "pad_reach",
    "pad_drop",
    "crank_length",
)


def position(points):
    """The geometry core's own position from plain points."""
    return Position.from_coordinates({PointName(name): at for name, at in points.items() if name != "bottom_bracket"})


def changes(count):
    """Component changes, each long enough to fill a line."""
    return tuple(
        ComponentChange(f"Part number {n}", f"worn past the marker, {n} mm", f"new, fitted and torqued, {n + 3} mm")
        for n in range(1, count + 1)
    )


def sheet(before=ROAD_BEFORE, after=ROAD_AFTER, *, shown=SHOWN, style=METRIC, **fields):
    """A fit sheet whose tables come from the geometry core."""
    earlier, later = dimensions(position(before)), dimensions(position(after))
    letters = bike_view(before, after).letters
    kept = [change for change in compare(earlier, later) if change.key in shown]
    usual = {
        "studio": Studio("Wrenfield Cycle Fitting", ("4 Tannery Row", "Wrenfield"), "+44 20 7946 0018"),
        "rider": Rider("Ines Calder"),
        "bike": Bike("Blue road bike", "54 cm, 2 × 11"),
        "date": "18 November 2026",
        "service": "Full fit",
        "fitter": "Tom Arkwright",
        "points_before": before,
        "points_after": after,
        "rows": tuple(position_row(change, style, letter=letters.get(change.key, "")) for change in kept),
        "side_rows": tuple(side_row(side, style) for side in left_right(later)),
        "changes": changes(3),
        "parts": ("Stem 90 mm, 31.8 mm clamp",),
        "discomfort": (DiscomfortRow("Right knee, front", "6", "2"),),
        "notes": "Saddle raised in two steps of 6 mm.",
        "next_visit": "Re-check on 2 December 2026",
        "safety": (SafetyItem("Stem faceplate bolts", done=True, value="5 N·m, printed on the part"),),
        "style": style,
    }
    return FitSheet(**{**usual, **fields})
