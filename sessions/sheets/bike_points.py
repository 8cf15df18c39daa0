"""Named points of a bike as the drawings need them: seen from the side, left and right made one, nonsense left out."""

import math
from collections.abc import Mapping

from sessions.sheets.scene import Point

FarPoint = tuple[float, float, float]

PAIRED = ("hood", "lever_tip", "drop", "pad")


def finite_points(points: Mapping[str, FarPoint]) -> dict[str, FarPoint]:
    """The points whose coordinates are all finite numbers.

    >>> finite_points({"hood_left": (float("nan"), 640.0, 0.0), "floor": (0.0, -270.0, 0.0)})
    {'floor': (0.0, -270.0, 0.0)}
    """
    return {name: point for name, point in points.items() if all(math.isfinite(part) for part in point)}


def side_points(points: Mapping[str, FarPoint]) -> dict[str, Point]:
    """The points as (x, y) [mm] seen from the rider's right.

    Of a left and a right point there is one drawn point under the pair's own name ("hood"), midway where both are
    known. The middle that dimensions are taken from ("hood_middle") exists only where it was measured or both sides
    were; "hood_near" is the side that faces the viewer.

    >>> seen = side_points({"hood_left": (480, 640, -210), "hood_right": (484, 636, 210)})
    >>> seen["hood"], seen["hood_near"]
    ((482.0, 638.0), (484, 636))
    >>> sorted(side_points({"hood_left": (480, 640, -210)}))
    ['hood', 'hood_left', 'hood_near']
    """
    seen = {name: (x, y) for name, (x, y, _) in finite_points(points).items()}
    for pair in PAIRED:
        left, right, middle = f"{pair}_left", f"{pair}_right", f"{pair}_middle"
        if left in seen and right in seen:
            seen.setdefault(middle, _midway(seen[left], seen[right]))
        drawn = next((name for name in (middle, right, left) if name in seen), None)
        near = next((name for name in (right, left, middle) if name in seen), None)
        if drawn and near:
            seen[pair], seen[f"{pair}_near"] = seen[drawn], seen[near]
    return seen


def _midway(one: Point, other: Point) -> Point:
    return ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
