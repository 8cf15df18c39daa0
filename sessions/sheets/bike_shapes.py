"""The bike's outlines on paper: what was measured in ink, the shapes around it as usual for their kind, and marks.

Everything is kept in the bike's own millimetres until it is drawn, so that a detail shows the same at its own scale.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sessions.sheets.bar_shapes import bar_shapes
from sessions.sheets.bike_facts import BikeFacts
from sessions.sheets.curves import ribbon, scaled, silhouette, smooth
from sessions.sheets.saddle_shapes import rails, saddle_line, saddle_shape, top_line
from sessions.sheets.scene import Circle, Item, Line, Marker, Point, Polyline

Points = Mapping[str, Point]
Shape = tuple[Point, ...]

MARKED = ("saddle_nose", "saddle_datum", "saddle_tail", "hood", "lever_tip", "drop", "pad", "bar_clamp")
LEAST_CHANGE_MM = 0.05
ARM_MM, PEDAL_MM = (34.0, 24.0), (92.0, 20.0)
AFTER_MARK_MM, BEFORE_MARK_MM = 1.1, 1.7


@dataclass(frozen=True, slots=True)
class Outline:
    """What a fit moves, at one position [mm of the bike]: closed shapes from the back to the front of the picture, and
    the measured line over the saddle.
    """

    shapes: tuple[Shape, ...]
    top: Shape

    def silhouette(self) -> tuple[Shape, ...]:
        """The runs around all shapes."""
        return tuple(silhouette(self.shapes))


def outline_of(points: Points, facts: BikeFacts) -> Outline:
    """The outline of saddle, bar and pads through the measured points [mm of the bike]."""
    line = saddle_line(points)
    saddle = (rails(line), saddle_shape(line)) if line else ()
    shapes = (*bar_shapes(points, facts), *saddle)
    top = top_line(points)
    return Outline(shapes, smooth(top) if len(top) == 3 else top)


def after_items(outline: Outline, ratio: float) -> Iterator[Item]:
    """The shapes at the position that the rider leaves with: pale, thinly outlined, each over the last."""
    for shape in outline.shapes:
        yield Polyline(scaled(shape, ratio), "schematic", closed=True, filled=True)


def before_items(outline: Outline, ratio: float) -> Iterator[Item]:
    """The silhouette at the position that the rider came with: dashed."""
    for run in outline.silhouette():
        yield Polyline(scaled(run, ratio), "before")


def top_items(outline: Outline, ratio: float) -> Iterator[Item]:
    """The measured line over the saddle."""
    if outline.top:
        yield Polyline(scaled(outline.top, ratio), "after")


def marks(points: Points, after: bool) -> Iterator[Marker]:
    """A mark on each measured point that a fit moves: a dot after, an open diamond before."""
    for name in MARKED:
        if name in points:
            if after:
                yield Marker(points[name], "dot", AFTER_MARK_MM, "after")
            else:
                yield Marker(points[name], "diamond", BEFORE_MARK_MM, "before-mark")


def frame_items(points: Points) -> Iterator[Item]:
    """What a fit leaves in place: wheels whose axles are measured, and the bottom bracket."""
    yield from _wheels(points)
    if "bottom_bracket" in points:
        yield Marker(points["bottom_bracket"], "cross", 5.0, "datum")
        yield Marker(points["bottom_bracket"], "ring", 2.2, "datum")


def _wheels(points: Points) -> Iterator[Item]:
    if "floor" not in points:
        return
    for name in ("rear_axle", "front_axle"):
        radius = points[name][1] - points["floor"][1] if name in points else 0.0
        if radius > 0:
            yield Circle(points[name], radius, "frame")
            yield Marker(points[name], "ring", 1.6, "frame")


def crank_shapes(points: Points, length_mm: float | None) -> Iterator[Shape]:
    """Crank arm and pedal as pale areas [mm of the bike]."""
    if length_mm:
        centre, (x, y) = _crank_line(points, length_mm)
        yield ribbon((centre, (x, y)), *ARM_MM)
        yield ribbon(((x - PEDAL_MM[0] / 2, y), (x + PEDAL_MM[0] / 2, y)), PEDAL_MM[1])


def crank_items(points: Points, length_mm: float | None, was_mm: float | None, ratio: float) -> Iterator[Item]:
    """The circle that the pedal axle runs on, and the crank."""
    if not length_mm:
        return
    centre, axle = scaled(_crank_line(points, length_mm), ratio)
    if was_mm and abs(was_mm - length_mm) > LEAST_CHANGE_MM:
        yield Circle(centre, was_mm * ratio, "before")
    yield Circle(centre, length_mm * ratio, "frame")
    yield Line(centre, axle, "frame")
    yield Marker(axle, "ring", 1.4, "frame")


def _crank_line(points: Points, length_mm: float) -> tuple[Point, Point]:
    """From the bottom bracket to the pedal axle: where it was measured, or level to the front."""
    centre = points.get("bottom_bracket", (0.0, 0.0))
    return centre, points.get("pedal_axle", (centre[0] + length_mm, centre[1]))
