"""Where labels may go: the boxes that text takes up on a drawing, and the first place that is free.

Widths are estimated on the generous side, since the page's own font is not known here: what does not collide by these
estimates does not collide in print.
"""

import unicodedata
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from sessions.sheets.scene import Arc, Circle, Item, Line, Marker, Point, Polyline, Text, arc_points

WIDE_EM = 1.0
NARROW_EM = 0.3
USUAL_EM = 0.58
NARROW_CHARACTERS = frozenset(" .,:;'’|!()il")
ASCENT_EM = 0.74
DESCENT_EM = 0.22
PEN_MM = 0.05
FINE_POINTS, STRIDE = 12, 3  # a curve of many short strokes is boxed by threes


class Box(NamedTuple):
    """An upright rectangle [mm]."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Width [mm]."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height [mm]."""
        return self.top - self.bottom

    def overlaps(self, other: "Box") -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right and other.left < self.right and self.bottom < other.top and other.bottom < self.top
        )

    def grown(self, by_mm: float) -> "Box":
        """The box with `by_mm` more on every side."""
        return Box(self.left - by_mm, self.bottom - by_mm, self.right + by_mm, self.top + by_mm)

    def moved(self, dx_mm: float, dy_mm: float) -> "Box":
        """The box moved by a vector."""
        return Box(self.left + dx_mm, self.bottom + dy_mm, self.right + dx_mm, self.top + dy_mm)


def around(boxes: Iterable[Box]) -> Box:
    """The smallest box that holds all of `boxes`.

    Raises
    ------
    ValueError
        Where there is none.
    """
    found = list(boxes)
    return Box(
        min(box.left for box in found),
        min(box.bottom for box in found),
        max(box.right for box in found),
        max(box.top for box in found),
    )


def text_width_mm(text: str, size_mm: float) -> float:
    """Estimated width [mm] of one line of `text` set at `size_mm`.

    >>> text_width_mm("742.0", 2.0) < text_width_mm("森田森田森", 2.0)
    True
    """
    return size_mm * sum(_width_em(character) for character in text)


def _width_em(character: str) -> float:
    if character in NARROW_CHARACTERS:
        return NARROW_EM
    return WIDE_EM if unicodedata.east_asian_width(character) in "WF" else USUAL_EM


def text_box(text: Text) -> Box:
    """The box that a text item takes up; only quarter turns are drawn."""
    width = text_width_mm(text.text, text.size_mm)
    before = {"start": 0.0, "middle": width / 2, "end": width}[text.anchor]
    up, down = ASCENT_EM * text.size_mm, DESCENT_EM * text.size_mm
    x, y = text.at
    if text.turn_deg == 90:
        return Box(x - up, y - before, x + down, y - before + width)
    return Box(x - before, y - down, x - before + width, y + up)


def item_points(item: Item) -> Sequence[Point]:
    """Points on a stroke's outline, dense enough to ask what it covers; none for text."""
    match item:
        case Line(start, end):
            return (start, end)
        case Polyline(points):
            return points
        case Circle(centre, radius_mm):
            return tuple(arc_points(centre, radius_mm, 0, 360, 49))
        case Arc(centre, radius_mm, start_deg, end_deg):
            return tuple(arc_points(centre, radius_mm, start_deg, end_deg, 13))
        case _:
            return ()


def outline_boxes(item: Item) -> list[Box]:
    """Thin boxes along an item's outline: obstacles for labels and dimension lines."""
    if isinstance(item, Marker):
        return [segment_box(item.at, item.at).grown(item.size_mm / 2)]
    points = item_points(item)
    if len(points) > FINE_POINTS:
        return [_points_box(points[first : first + STRIDE + 1]) for first in range(0, len(points) - 1, STRIDE)]
    return [segment_box(start, end) for a, b in pairwise(points) for start, end in _short_parts(a, b)]


def _points_box(points: Sequence[Point]) -> Box:
    across, up = [x for x, _ in points], [y for _, y in points]
    return Box(min(across) - PEN_MM, min(up) - PEN_MM, max(across) + PEN_MM, max(up) + PEN_MM)


def segment_box(start: Point, end: Point) -> Box:
    """The upright box around a straight stroke."""
    (ax, ay), (bx, by) = start, end
    left, right = (ax, bx) if ax < bx else (bx, ax)
    bottom, top = (ay, by) if ay < by else (by, ay)
    return Box(left - PEN_MM, bottom - PEN_MM, right + PEN_MM, top + PEN_MM)


def _short_parts(start: Point, end: Point) -> list[tuple[Point, Point]]:
    """Cut a slanting stroke into parts, so that its upright boxes hug it."""
    run, rise = end[0] - start[0], end[1] - start[1]
    parts = max(1, min(64, int(min(abs(run), abs(rise)) / 1.5)))
    knots = [(start[0] + run * k / parts, start[1] + rise * k / parts) for k in range(parts + 1)]
    return list(pairwise(knots))


def first_free(candidates: Sequence[Box], labels: Sequence[Box], strokes: Sequence[Box]) -> Box:
    """The first candidate clear of all labels and strokes; failing that the one, clear of labels, that covers fewest.

    Where every candidate would cover a label, the last one is moved down until it is clear.
    """
    clear = [box for box in candidates if not any(box.overlaps(label) for label in labels)]
    if not clear:
        return _moved_clear(candidates[-1], labels)
    reach = around(clear)
    near = [stroke for stroke in strokes if stroke.overlaps(reach)]
    best, least = clear[0], len(near) + 1
    for box in clear:
        covered = sum(box.overlaps(stroke) for stroke in near)
        if covered < least:
            best, least = box, covered
        if not covered:
            break
    return best


def _moved_clear(box: Box, labels: Sequence[Box]) -> Box:
    while True:
        hit = next((label for label in labels if box.overlaps(label)), None)
        if hit is None:
            return box
        box = box.moved(0.0, hit.bottom - box.top - 0.1)
