"""Shapes from a few points: smooth curves, ribbons of a width, rings, and what of them lies inside a circle."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from sessions.sheets.scene import Point, arc_points, unit

SMOOTH_STEPS = 4
RING_POINTS = 49
RIM_POINTS = 37
STEP_MM = 8.0
MOST_PARTS = 60


def smooth(knots: Sequence[Point], *, closed: bool = False, steps: int = SMOOTH_STEPS) -> tuple[Point, ...]:
    """A soft curve through all of `knots` in order (Catmull and Rom's spline), as a run of short strokes.

    >>> curve = smooth([(0, 0), (10, 0), (20, 0)])
    >>> curve[0], curve[4], curve[-1]
    ((0.0, 0.0), (10.0, 0.0), (20.0, 0.0))
    """
    count = len(knots)
    if count < 3:
        return tuple(knots)
    spans = count if closed else count - 1

    def knot(number: int) -> Point:
        return knots[number % count] if closed else knots[min(max(number, 0), count - 1)]

    curve = [
        _between(knot(span - 1), knot(span), knot(span + 1), knot(span + 2), step / steps)
        for span in range(spans)
        for step in range(steps)
    ]
    return tuple(curve) if closed else (*curve, (float(knots[-1][0]), float(knots[-1][1])))


def _between(before: Point, start: Point, end: Point, after: Point, t: float) -> Point:
    x, y = (
        0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t * t + (3 * b - a - 3 * c + d) * t * t * t)
        for a, b, c, d in zip(before, start, end, after, strict=True)
    )
    return (x, y)


def ribbon(line: Sequence[Point], start_mm: float, end_mm: float | None = None) -> tuple[Point, ...]:
    """The closed outline of a tube along `line`, as wide as `start_mm` at its start and `end_mm` at its end.

    >>> ribbon([(0, 0), (10, 0)], 2.0)
    ((0.0, 1.0), (10.0, 1.0), (10.0, -1.0), (0.0, -1.0))
    """
    last = start_mm if end_mm is None else end_mm
    halves = [(start_mm + (last - start_mm) * place / max(1, len(line) - 1)) / 2 for place in range(len(line))]
    across = list(_across(line))
    left = [(x + nx * half, y + ny * half) for (x, y), (nx, ny), half in zip(line, across, halves, strict=True)]
    right = [(x - nx * half, y - ny * half) for (x, y), (nx, ny), half in zip(line, across, halves, strict=True)]
    return (*left, *reversed(right))


def _across(line: Sequence[Point]) -> Iterator[Point]:
    """The direction to the left of the line at each of its points."""
    for place in range(len(line)):
        x, y = unit(line[max(0, place - 1)], line[min(len(line) - 1, place + 1)])
        yield (-y, x)


def ring(centre: Point, outer_mm: float, inner_mm: float) -> tuple[Point, ...]:
    """The area between two circles as one outline, out along one and back along the other."""
    there = arc_points(centre, outer_mm, 0, 360, RING_POINTS)
    back = arc_points(centre, inner_mm, 360, 0, RING_POINTS)
    return (*there, *back)


def scaled(points: Sequence[Point], ratio: float, origin: Point = (0.0, 0.0)) -> tuple[Point, ...]:
    """Points at another scale, with `origin` of the paper where their own origin was."""
    return tuple((origin[0] + x * ratio, origin[1] + y * ratio) for x, y in points)


def silhouette(shapes: Sequence[Sequence[Point]]) -> Iterator[tuple[Point, ...]]:
    """The runs of the shapes' outlines that do not lie under another shape, to within `STEP_MM`.

    >>> post, beam = [(0, 0), (9, 0), (9, 90), (0, 90)], [(-50, 40), (50, 40), (50, 49), (-50, 49)]
    >>> len(list(silhouette([post, beam])))
    6
    """
    areas = [(shape, _extent(shape)) for shape in shapes]
    for number, shape in enumerate(shapes):
        others = [area for place, area in enumerate(areas) if place != number]
        yield from _uncovered(list(_finely([*shape, shape[0]])), others)


def _extent(shape: Sequence[Point]) -> tuple[float, float, float, float]:
    across, up = [x for x, _ in shape], [y for _, y in shape]
    return (min(across), min(up), max(across), max(up))


def _finely(line: Sequence[Point]) -> Iterator[Point]:
    for start, end in pairwise(line):
        parts = max(1, min(MOST_PARTS, int(math.dist(start, end) / STEP_MM)))
        yield from (_along(start, end, part / parts) for part in range(parts))
    yield line[-1]


def _uncovered(
    line: Sequence[Point], areas: Sequence[tuple[Sequence[Point], tuple[float, float, float, float]]]
) -> Iterator[tuple[Point, ...]]:
    run: list[Point] = []
    for start, end in pairwise(line):
        middle = _along(start, end, 0.5)
        if any(_within(middle, shape, extent) for shape, extent in areas):
            if run:
                yield tuple(run)
            run = []
        else:
            run = [*(run or [start]), end]
    if run:
        yield tuple(run)


def _within(point: Point, shape: Sequence[Point], extent: tuple[float, float, float, float]) -> bool:
    """Whether a point lies inside a shape: a line from it to the right crosses the outline an odd number of times."""
    x, y = point
    if not (extent[0] < x < extent[2] and extent[1] < y < extent[3]):
        return False
    inside = False
    for place, (bx, by) in enumerate(shape):
        ax, ay = shape[place - 1]
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            inside = not inside
    return inside


def runs_inside(points: Sequence[Point], centre: Point, radius_mm: float) -> Iterator[tuple[Point, ...]]:
    """The stretches of a run of strokes that lie inside a circle.

    >>> list(runs_inside([(-5, 0), (5, 0)], (0, 0), 2))
    [((-2.0, 0.0), (2.0, 0.0))]
    """
    run: list[Point] = []
    for start, end in pairwise(points):
        span = _inside(start, end, centre, radius_mm)
        if span is None:
            continue
        enters, leaves = (_along(start, end, share) for share in span)
        if run and span[0] > 0:
            yield tuple(run)
            run = []
        run = [*(run or [enters]), leaves]
        if span[1] < 1:
            yield tuple(run)
            run = []
    if run:
        yield tuple(run)


def _along(start: Point, end: Point, share: float) -> Point:
    return (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)


def _inside(start: Point, end: Point, centre: Point, radius: float) -> tuple[float, float] | None:
    """From which share of a stroke to which it lies inside a circle: |start + t (end − start) − centre| = radius."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    fx, fy = start[0] - centre[0], start[1] - centre[1]
    a, b, c = dx * dx + dy * dy, fx * dx + fy * dy, fx * fx + fy * fy - radius * radius
    if a == 0:
        return None
    under = b * b - a * c
    if under <= 0:
        return None
    root = math.sqrt(under)
    first, last = max(0.0, (-b - root) / a), min(1.0, (-b + root) / a)
    return (first, last) if first < last else None


def area_inside(polygon: Sequence[Point], centre: Point, radius_mm: float) -> tuple[Point, ...]:
    """The part of a filled shape that lies inside a circle (Sutherland and Hodgman, against a polygon of 36 sides).

    >>> len(area_inside([(-9, -9), (9, -9), (9, 9), (-9, 9)], (0, 0), 1))
    36
    """
    left, bottom, right, top = _extent(polygon)
    (x, y), half = centre, radius_mm
    if left > x + half or right < x - half or bottom > y + half or top < y - half:
        return ()
    kept = list(polygon)
    rim = list(arc_points(centre, radius_mm, 0, 360, RIM_POINTS))
    for start, end in pairwise(rim):
        kept = list(_left_of(kept, start, end))
        if not kept:
            break
    return tuple(kept)


def _left_of(polygon: Sequence[Point], start: Point, end: Point) -> Iterator[Point]:
    """What of a polygon lies left of the line from start to end."""
    sides = [(end[0] - start[0]) * (y - start[1]) - (end[1] - start[1]) * (x - start[0]) for x, y in polygon]
    for place, (point, side) in enumerate(zip(polygon, sides, strict=True)):
        before = sides[place - 1]
        if (side > 0) != (before > 0):
            yield _along(polygon[place - 1], point, before / (before - side))
        if side > 0:
            yield point
