"""A drawing as plain values: what is drawn, where on the paper, and in which role.

Lengths are millimetres on paper, x to the right and y up, with the origin at the bottom left corner. A scene knows no
colour, no font and no file format: each renderer maps roles to its own styles, so that one drawing serves the screen
and the printed sheet alike.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
Move = Callable[[Point], Point]

Role = Literal[
    "after",  # the position that the rider leaves with: solid
    "before",  # the position that the rider came with: thin and dashed
    "before-mark",  # its points
    "frame",  # what the session does not move: wheels, crank circle, frame lines
    "schematic",  # a part whose place is measured and whose shape is not: pale with a thin outline
    "ghost",  # what nobody measured: pale areas, only there so that the eye knows what it looks at
    "grid",  # squares to count millimetres by
    "mask",  # blank paper under a detail
    "datum",  # centre lines and named points
    "ground",
    "dimension",
    "extension",
    "label",
    "note",
    "balloon",
    "bar",  # a share of the forecast inside the slack
    "over",  # a share of the forecast beyond the slack
    "hatch",
    "slack",
    "axis",
]

Anchor = Literal["start", "middle", "end"]
MarkerKind = Literal["cross", "dot", "ring", "diamond"]

ARROW_LENGTH_MM = 1.7
ARROW_HALF_WIDTH_MM = 0.28
EXTENSION_GAP_MM = 0.8
EXTENSION_OVERSHOOT_MM = 1.0


@dataclass(frozen=True, slots=True)
class Line:
    """A straight stroke from `start` to `end` [mm]."""

    start: Point
    end: Point
    role: Role


@dataclass(frozen=True, slots=True)
class Polyline:
    """A run of straight strokes through `points` [mm]; `filled` shapes are closed, and stroked only in the role
    "schematic".
    """

    points: tuple[Point, ...]
    role: Role
    closed: bool = False
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle around `centre` [mm]."""

    centre: Point
    radius_mm: float
    role: Role


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, anticlockwise from `start_deg` to `end_deg`, both measured from the x axis."""

    centre: Point
    radius_mm: float
    start_deg: float
    end_deg: float
    role: Role


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; `at` is its baseline point [mm], `turn_deg` turns it anticlockwise about that point."""

    at: Point
    text: str
    size_mm: float
    role: Role
    anchor: Anchor = "start"
    turn_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Dimension:
    """A dimension line from `start` to `end` with arrow heads, and extension lines from the two points it measures.

    `outward` puts the arrow heads outside, pointing in, where the line is too short to hold them.
    """

    start: Point
    end: Point
    measured: tuple[Point, Point]
    outward: bool = False


@dataclass(frozen=True, slots=True)
class Marker:
    """A named point: a cross, a dot, a ring or an open diamond."""

    at: Point
    kind: MarkerKind
    size_mm: float
    role: Role


Stroke = Line | Polyline | Circle | Arc | Text
Item = Stroke | Dimension | Marker


@dataclass(frozen=True, slots=True)
class Scene:
    """A drawing of `width_mm` by `height_mm` on paper, with the title and description that a screen reader speaks."""

    width_mm: float
    height_mm: float
    title: str
    description: str
    items: tuple[Item, ...]

    def strokes(self) -> Iterator[Stroke]:
        """Yield the items with dimension lines and markers taken apart into plain strokes.

        >>> ring = Marker((1.0, 1.0), "ring", 2.0, "datum")
        >>> [type(stroke).__name__ for stroke in Scene(5, 5, "", "", (ring,)).strokes()]
        ['Circle']
        """
        for item in self.items:
            if isinstance(item, Dimension):
                yield from dimension_strokes(item)
            elif isinstance(item, Marker):
                yield from marker_strokes(item)
            else:
                yield item


def dimension_strokes(dimension: Dimension) -> Iterator[Stroke]:
    """Take a dimension apart into its line, its two arrow heads and its extension lines."""
    start, end = dimension.start, dimension.end
    yield Line(start, end, "dimension")
    along = unit(start, end)
    turn = -1.0 if dimension.outward else 1.0
    for tip, towards in ((start, (along[0] * turn, along[1] * turn)), (end, (-along[0] * turn, -along[1] * turn))):
        yield arrow_head(tip, towards)
        if dimension.outward:
            yield Line(tip, moved(tip, towards, 2.2 * ARROW_LENGTH_MM), "dimension")
    yield from _extension(dimension.measured[0], start)
    yield from _extension(dimension.measured[1], end)


def arrow_head(tip: Point, towards: Point, role: Role = "dimension") -> Polyline:
    """A slim filled head with its point at `tip` and its body in the direction `towards`."""
    base = moved(tip, towards, ARROW_LENGTH_MM)
    across = (-towards[1], towards[0])
    wings = (moved(base, across, ARROW_HALF_WIDTH_MM), moved(base, across, -ARROW_HALF_WIDTH_MM))
    return Polyline((tip, *wings), role, closed=True, filled=True)


def _extension(measured: Point, foot: Point) -> Iterator[Line]:
    """The thin line from a measured point to its dimension line, clear of the first and a little past the second."""
    if math.dist(measured, foot) <= EXTENSION_GAP_MM:
        return
    out = unit(measured, foot)
    yield Line(moved(measured, out, EXTENSION_GAP_MM), moved(foot, out, EXTENSION_OVERSHOOT_MM), "extension")


def marker_strokes(marker: Marker) -> Iterator[Stroke]:
    """Take a marker apart into plain strokes."""
    (x, y), half = marker.at, marker.size_mm / 2
    if marker.kind == "ring":
        yield Circle(marker.at, half, marker.role)
    elif marker.kind == "diamond":
        yield Polyline(((x - half, y), (x, y + half), (x + half, y), (x, y - half)), marker.role, closed=True)
    elif marker.kind == "cross":
        yield Line((x - half, y), (x + half, y), marker.role)
        yield Line((x, y - half), (x, y + half), marker.role)
    else:
        yield Polyline(tuple(arc_points(marker.at, half, 0, 330, 12)), marker.role, closed=True, filled=True)


def unit(start: Point, end: Point) -> Point:
    """The direction from `start` to `end` as a vector of length one; (1, 0) where both are the same point.

    >>> unit((0, 0), (0, 5))
    (0.0, 1.0)
    """
    length = math.dist(start, end)
    if length == 0:
        return (1.0, 0.0)
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def moved(point: Point, direction: Point, distance_mm: float) -> Point:
    """`point` moved by `distance_mm` along a unit vector."""
    return (point[0] + direction[0] * distance_mm, point[1] + direction[1] * distance_mm)


def arc_points(centre: Point, radius_mm: float, start_deg: float, end_deg: float, count: int) -> Iterator[Point]:
    """`count` points, evenly spaced in angle, on the arc from `start_deg` to `end_deg`."""
    for step in range(count):
        angle = math.radians(start_deg + (end_deg - start_deg) * step / (count - 1))
        yield (centre[0] + radius_mm * math.cos(angle), centre[1] + radius_mm * math.sin(angle))


def shifted(items: Iterable[Item], dx_mm: float, dy_mm: float) -> tuple[Item, ...]:
    """Every item moved by the same vector."""

    def go(point: Point) -> Point:
        return (point[0] + dx_mm, point[1] + dy_mm)

    return tuple(_shifted(item, go) for item in items)


def _shifted(item: Item, go: Move) -> Item:
    match item:
        case Line(start, end, role):
            return Line(go(start), go(end), role)
        case Polyline(points, role, closed, filled):
            return Polyline(tuple(map(go, points)), role, closed, filled)
        case Circle(centre, radius_mm, role):
            return Circle(go(centre), radius_mm, role)
        case Arc(centre, radius_mm, start_deg, end_deg, role):
            return Arc(go(centre), radius_mm, start_deg, end_deg, role)
        case Text(at, text, size_mm, role, anchor, turn_deg):
            return Text(go(at), text, size_mm, role, anchor, turn_deg)
        case Dimension(start, end, (first, second), outward):
            return Dimension(go(start), go(end), (go(first), go(second)), outward)
        case Marker(at, kind, size_mm, role):
            return Marker(go(at), kind, size_mm, role)
