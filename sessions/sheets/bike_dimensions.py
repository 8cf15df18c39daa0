"""Which lengths the side view shows, each under a letter of its own.

Keys and signs are those of `sessions.geometry`, so that a letter on the drawing leads to its row in the table.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from sessions.geometry.limits import Unit
from sessions.sheets.numbers import NumberStyle
from sessions.sheets.scene import Point

Lie = Literal["on", "across", "up"]
Points = Mapping[str, Point]


def _forward(start: Point, end: Point) -> float:
    return end[0] - start[0]


def _backward(start: Point, end: Point) -> float:
    return start[0] - end[0]


def _upward(start: Point, end: Point) -> float:
    return end[1] - start[1]


def _downward(start: Point, end: Point) -> float:
    return start[1] - end[1]


@dataclass(frozen=True, slots=True)
class DimensionSpec:
    """One length of the side view: its letter, the two points it joins, how its line lies and what it counts.

    `lie` is "on" the straight line itself, "across" (horizontal) or "up" (vertical).
    """

    key: str
    letter: str
    first: str
    second: str
    lie: Lie
    length: Callable[[Point, Point], float]


# The letters are the same on every sheet. I and O are left out, as on any drawing: they read as 1 and 0.
SPECS = (
    DimensionSpec("saddle_height", "A", "bottom_bracket", "saddle_datum", "on", math.dist),
    DimensionSpec("setback_nose", "B", "bottom_bracket", "saddle_nose", "across", _backward),
    DimensionSpec("saddle_to_hood_reach", "C", "saddle_datum", "hood_middle", "across", _forward),
    DimensionSpec("nose_to_hood", "D", "saddle_nose", "hood_middle", "on", math.dist),
    DimensionSpec("drop", "E", "saddle_datum", "hood_middle", "up", _downward),
    DimensionSpec("hood_height", "F", "floor", "hood_near", "up", _upward),
    DimensionSpec("pad_reach", "G", "bottom_bracket", "pad_middle", "across", _forward),
    DimensionSpec("pad_drop", "H", "saddle_datum", "pad_middle", "up", _downward),
)
TILT_LETTER = "J"
CRANK_LETTER = "K"


def dimension_mm(spec: DimensionSpec, points: Points) -> float | None:
    """The length [mm] that `spec` names, or None where one of its points is unknown."""
    if spec.first not in points or spec.second not in points:
        return None
    return spec.length(points[spec.first], points[spec.second])


def table_key(spec: DimensionSpec, points: Points) -> str:
    """The key of the dimension's row in a table; hood heights have one row for each side.

    >>> table_key(SPECS[5], {"hood_left": (480.0, 640.0)})
    'hood_height_left'
    """
    if spec.key != "hood_height":
        return spec.key
    return "hood_height_right" if "hood_right" in points else "hood_height_left"


def crank_mm(points: Points) -> float | None:
    """Crank length [mm]: bottom bracket to pedal axle."""
    if "bottom_bracket" not in points or "pedal_axle" not in points:
        return None
    return math.dist(points["bottom_bracket"], points["pedal_axle"])


def tilt(points: Points) -> tuple[str, float] | None:
    """Key and saddle tilt [deg], positive nose-up: from the datum to the nose, or over the whole saddle without a datum.

    >>> tilt({"saddle_datum": (-200.0, 700.0), "saddle_nose": (-60.0, 700.0)})
    ('saddle_tilt', 0.0)
    """
    if "saddle_nose" not in points:
        return None
    nose = points["saddle_nose"]
    for key, start in (("saddle_tilt", "saddle_datum"), ("saddle_tilt_whole", "saddle_tail")):
        if start in points and points[start] != nose:
            return key, math.degrees(math.atan2(nose[1] - points[start][1], nose[0] - points[start][0]))
    return None


def value_text(unit: Unit, before: float | None, after: float, style: NumberStyle) -> str:
    """The figure beside a letter: the value after and, where it moved, by how much.

    >>> value_text("mm", 736.0, 742.0, NumberStyle())
    '742.0 (+6.0)'
    """
    shown = style.value(unit, after)
    if before is None:
        return shown
    change = style.value(unit, after - before, signed=True)
    return f"{shown} ({change})" if change[0] in "+−" else shown
