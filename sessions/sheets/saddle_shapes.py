"""The saddle's profile through its measured nose, datum and tail, and what holds it, in the bike's own millimetres.

The top line between measured points is true; the rest of the profile is the usual one (common practice, no source).
"""

import math
from collections.abc import Iterator, Mapping

from sessions.sheets.curves import ribbon, smooth
from sessions.sheets.scene import Point, unit

Points = Mapping[str, Point]
Shape = tuple[Point, ...]

NOSE_MM = 140.0  # a usual saddle from its nose to where it is 80 mm wide
TAIL_MM, RISE_MM = 122.0, 9.0  # and from there to its tail
CLAMP_MM = (18.0, -52.0)  # the rails' clamp, forward of the datum and below it
POST_MM = 27.2


class SaddleLine:
    """Where a saddle lies: places along its top line (forward of the datum) and above it."""

    def __init__(self, datum: Point, nose: Point, tail: Point | None) -> None:
        """Lay the line from the datum to the nose."""
        self.datum = datum
        self.along = unit(datum, nose)
        self.nose_mm = math.dist(datum, nose)
        self.tail_mm, self.rise_mm = self._seen(tail) if tail else (-TAIL_MM, RISE_MM)

    def _seen(self, point: Point) -> tuple[float, float]:
        dx, dy = point[0] - self.datum[0], point[1] - self.datum[1]
        (ax, ay) = self.along
        return (dx * ax + dy * ay, dy * ax - dx * ay)

    def at(self, forward_mm: float, above_mm: float) -> Point:
        """The point of the bike that lies there."""
        (x, y), (ax, ay) = self.datum, self.along
        return (x + forward_mm * ax - above_mm * ay, y + forward_mm * ay + above_mm * ax)


def saddle_line(points: Points) -> SaddleLine | None:
    """The line that the saddle's profile follows; None where its nose is not known with datum or tail.

    >>> saddle_line({"saddle_datum": (-180.0, 700.0), "saddle_nose": (-40.0, 700.0)}).at(0, -50)
    (-180.0, 650.0)
    """
    nose, datum, tail = (points.get(f"saddle_{name}") for name in ("nose", "datum", "tail"))
    if nose is None or (datum is None and tail is None):
        return None
    if datum is None and tail is not None:
        share = TAIL_MM / (TAIL_MM + NOSE_MM)
        datum = (tail[0] + share * (nose[0] - tail[0]), tail[1] + share * (nose[1] - tail[1]))
    return SaddleLine(datum, nose, tail) if datum is not None and datum != nose else None


def level_line(datum: Point) -> SaddleLine:
    """A line for a saddle of which only the datum is known."""
    return SaddleLine(datum, (datum[0] + NOSE_MM, datum[1]), None)


def top_line(points: Points) -> Shape:
    """The measured line over the saddle, from the rearmost known point to the nose."""
    known = [points[name] for name in ("saddle_tail", "saddle_datum", "saddle_nose") if name in points]
    return tuple(known) if len(known) > 1 else ()


def saddle_shape(line: SaddleLine) -> Shape:
    """The profile: a slim nose, a light dip, wings under the seat."""
    nose, tail, rise = line.nose_mm, line.tail_mm, line.rise_mm
    knots = (
        (tail, rise), (0.55 * tail, 0.35 * rise), (0.0, 0.0), (0.5 * nose, -3.5), (nose - 24, -1.5), (nose - 6, -0.5),
        (nose, -8.0), (nose - 3, -18.0), (nose - 16, -26.0), (0.45 * nose, -30.0), (0.12 * nose, -40.0), (0.3 * tail, -56.0),
        (0.72 * tail, -55.0), (tail + 4, -30.0), (tail - 5, -8.0),
    )  # fmt: skip
    return smooth([line.at(*knot) for knot in knots], closed=True)


def rails(line: SaddleLine) -> Shape:
    """One rail, from under the nose to under the tail."""
    nose, tail = line.nose_mm, line.tail_mm
    knots = ((nose - 28, -26.0), (0.42 * nose, -46.0), (0.25 * nose, -52.0), (0.42 * tail, -52.0), (0.8 * tail, -42.0))
    return ribbon(smooth([line.at(*knot) for knot in knots]), 7.0)


def clamp_point(line: SaddleLine) -> Point:
    """Where the post takes hold of the rails."""
    return line.at(*CLAMP_MM)


def post_shapes(line: SaddleLine, length_mm: float) -> Iterator[Shape]:
    """The clamp's head and the post below it, towards the bottom bracket."""
    top = clamp_point(line)
    towards = unit(top, (0.0, 0.0))
    yield ribbon((line.at(CLAMP_MM[0] - 20, CLAMP_MM[1]), line.at(CLAMP_MM[0] + 20, CLAMP_MM[1])), 18.0)
    yield ribbon((top, (top[0] + towards[0] * length_mm, top[1] + towards[1] * length_mm)), POST_MM)
