"""The bike's outlines on paper, drawn only through points that were measured.

What lies between the points (the underside of a saddle, the bend of a bar) is a schematic curve that follows them.
"""

import math
from collections.abc import Callable, Iterator, Mapping

from sessions.sheets.scene import Circle, Item, Line, Marker, Point, Polyline, Role, moved, unit

Points = Mapping[str, Point]

SADDLE_DEPTH = 0.13  # of its length, schematic
BAR_DIAMETER_MM = 31.8
PAD_HALF_LENGTH_MM = 45.0  # schematic
CURVE_STEPS = 14


def position_items(points: Points, role: Role, ratio: float) -> Iterator[Item]:
    """The outlines that a fit moves: saddle, bar with hood, lever and drop, and pads.

    Parameters
    ----------
    points
        Side-view points in paper millimetres.
    role
        "before" or "after".
    ratio
        Paper millimetres per millimetre of the bike.
    """
    yield from _saddle(points, role)
    yield from _bar(points, role, ratio)
    yield from _pads(points, role, ratio)


def frame_items(points: Points) -> Iterator[Item]:
    """What a fit leaves in place: wheels, crank circle and the straight lines between known frame points."""
    yield from _wheels(points)
    yield from _crank(points)
    for start, end in (
        ("bottom_bracket", "rear_axle"),
        ("bottom_bracket", "steerer_top"),
        ("steerer_top", "front_axle"),
    ):
        if start in points and end in points:
            yield Line(points[start], points[end], "frame")


def datum_items(points: Points) -> Iterator[Item]:
    """Marks on the points that the dimensions are taken from."""
    if "bottom_bracket" in points:
        yield Marker(points["bottom_bracket"], "cross", 5.0, "datum")
        yield Marker(points["bottom_bracket"], "ring", 2.2, "datum")
    for name in ("saddle_nose", "saddle_datum", "hood", "pad"):
        if name in points:
            yield Marker(points[name], "dot", 1.1, "after")


def _wheels(points: Points) -> Iterator[Item]:
    if "floor" not in points:
        return
    for name in ("rear_axle", "front_axle"):
        radius = points[name][1] - points["floor"][1] if name in points else 0.0
        if radius > 0:
            yield Circle(points[name], radius, "frame")
            yield Marker(points[name], "ring", 1.6, "frame")


def _crank(points: Points) -> Iterator[Item]:
    if "bottom_bracket" not in points or "pedal_axle" not in points:
        return
    centre, axle = points["bottom_bracket"], points["pedal_axle"]
    length = math.dist(centre, axle)
    if length > 0:
        yield Circle(centre, length, "frame")
        yield Line(centre, axle, "frame")
        yield Marker(axle, "ring", 1.2, "frame")


def _saddle(points: Points, role: Role) -> Iterator[Item]:
    top = [points[name] for name in ("saddle_tail", "saddle_datum", "saddle_nose") if name in points]
    if len(top) < 2:
        return
    if len(top) < 3:
        yield Polyline(tuple(top), role)
        return
    yield Polyline((*_through(*top), *_underside(*top)), role, closed=True)


def _underside(tail: Point, datum: Point, nose: Point) -> Iterator[Point]:
    """From the nose back to the tail below the measured top line: a slim nose, a belly under the seat."""
    length = math.dist(tail, nose)
    along = unit(tail, nose)
    down = (along[1], -along[0])

    def below(start: Point, forward: float, depth: float) -> Point:
        return moved(moved(start, along, forward * length), down, depth * SADDLE_DEPTH * length)

    yield from _bezier(nose, below(nose, 0.02, 0.3), below(nose, 0.0, 0.42), below(nose, -0.06, 0.42))
    yield from _bezier(
        below(nose, -0.06, 0.42), below(nose, -0.3, 0.35), below(datum, 0.08, 0.95), below(datum, -0.12, 1.0)
    )
    yield from _bezier(
        below(datum, -0.12, 1.0), below(tail, 0.12, 1.05), below(tail, -0.03, 0.95), below(tail, -0.01, 0.2)
    )


def _bar(points: Points, role: Role, ratio: float) -> Iterator[Item]:
    if "bar_clamp" in points:
        yield Marker(points["bar_clamp"], "ring", BAR_DIAMETER_MM * ratio, role)
    if "steerer_top" in points and "bar_clamp" in points:
        yield Line(points["steerer_top"], points["bar_clamp"], role)
    if "hood" in points and "bar_clamp" in points:
        yield Line(points["bar_clamp"], points["hood"], role)
    if "hood" in points and "lever_tip" in points:
        yield _lever(points["hood"], points["lever_tip"], role)
    if "hood" in points and "drop" in points:
        yield _hook(points["hood"], points["drop"], role)


def _lever(hood: Point, tip: Point, role: Role) -> Polyline:
    """The hood's horn and the lever, from the hood rest to the lever tip."""
    size = math.dist(hood, tip)
    horn = (hood[0] + 0.42 * size, hood[1] + 0.28 * size)
    brow = (horn[0] + 0.12 * size, horn[1] - 0.22 * size)
    return Polyline((*_bezier(hood, (hood[0] + 0.2 * size, hood[1] - 0.02 * size), horn, brow), tip), role)


def _hook(hood: Point, drop: Point, role: Role) -> Polyline:
    """The bend of a drop bar, from the hood rest forward and back to the drop, and on to its end."""
    depth = abs(hood[1] - drop[1])
    forward = 0.75 * depth
    end = (drop[0] - 0.45 * depth, drop[1] - 0.04 * depth)
    bend = _bezier(hood, (hood[0] + forward, hood[1] - 0.05 * depth), (drop[0] + forward, drop[1]), drop)
    return Polyline((*bend, end), role)


def _pads(points: Points, role: Role, ratio: float) -> Iterator[Item]:
    if "pad" not in points:
        return
    x, y = points["pad"]
    half = PAD_HALF_LENGTH_MM * ratio
    lip = (0.8 * half, 0.25 * half)
    yield Polyline(((x - half, y + lip[1]), (x - lip[0], y), (x + lip[0], y), (x + half, y + lip[1])), role)
    if "bar_clamp" in points:
        yield Line((x + 0.4 * half, y), points["bar_clamp"], role)


def _through(first: Point, second: Point, third: Point) -> Iterator[Point]:
    """A smooth curve through three points in order: the parabola over their chord lengths."""
    before, after = math.dist(first, second), math.dist(second, third)
    middle = before / (before + after) if before + after > 0 else 0.5
    if not 0.05 < middle < 0.95:
        yield from (first, second, third)
        return
    yield from (_lagrange(first, second, third, middle)(step / CURVE_STEPS) for step in range(CURVE_STEPS + 1))


def _lagrange(first: Point, second: Point, third: Point, middle: float) -> Callable[[float], Point]:
    def at(t: float) -> Point:
        weights = (
            (t - middle) * (t - 1) / middle,
            t * (t - 1) / (middle * (middle - 1)),
            t * (t - middle) / (1 - middle),
        )
        knots = (first, second, third)
        return (
            sum(weight * knot[0] for weight, knot in zip(weights, knots, strict=True)),
            sum(weight * knot[1] for weight, knot in zip(weights, knots, strict=True)),
        )

    return at


def _bezier(start: Point, leave: Point, arrive: Point, end: Point) -> Iterator[Point]:
    """Points on a cubic curve."""
    for step in range(CURVE_STEPS + 1):
        t = step / CURVE_STEPS
        weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        knots = (start, leave, arrive, end)
        yield (
            sum(weight * knot[0] for weight, knot in zip(weights, knots, strict=True)),
            sum(weight * knot[1] for weight, knot in zip(weights, knots, strict=True)),
        )
