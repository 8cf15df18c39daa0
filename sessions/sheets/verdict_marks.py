"""The marks of the verdicts on a drawing: a shape of its own for each, told apart without colour."""

import math
from collections.abc import Iterator

from intake.triage.verdict import Verdict
from sessions.sheets.scene import Circle, Item, Line, Point, Polyline, Text


def verdict_mark(verdict: str, at: Point, size_mm: float) -> Iterator[Item]:
    """Draw a verdict's mark around `at`: a full square, a hexagon, a speech bubble, a bag, a circle with a tick.

    What is no verdict gets a short stroke.
    """
    x, y = at
    half = size_mm / 2
    if verdict == Verdict.DO_NOT_RIDE:
        yield Polyline(_box(x, y, half, half), "bar", closed=True, filled=True)
    elif verdict == Verdict.FIX_FIRST:
        corners = [
            (x + half * math.cos(step * math.pi / 3), y + half * math.sin(step * math.pi / 3)) for step in range(6)
        ]
        yield Polyline(tuple(corners), "after", closed=True)
    elif verdict == Verdict.ASK_RIDER:
        low = y - 0.35 * half
        bubble = ((x - half, y + half), (x + half, y + half), (x + half, low), (x, low), (x - half, y - half))
        yield Polyline(bubble, "axis", closed=True)
        yield Text((x, y - 0.1 * half), "?", 0.8 * size_mm, "label", "middle")
    elif verdict == Verdict.BRING_PARTS:
        yield Polyline(_box(x, y - 0.25 * half, half, 0.75 * half), "axis", closed=True)
        handle = ((x - 0.4 * half, y + 0.5 * half), (x - 0.4 * half, y + half), (x + 0.4 * half, y + half))
        yield Polyline((*handle, (x + 0.4 * half, y + 0.5 * half)), "axis")
    elif verdict == Verdict.CLEAR:
        yield Circle(at, half, "axis")
        yield Polyline(
            ((x - 0.5 * half, y), (x - 0.1 * half, y - 0.4 * half), (x + 0.5 * half, y + 0.4 * half)), "after"
        )
    else:
        yield Line((x - half, y), (x + half, y), "axis")


def _box(x: float, y: float, half_width: float, half_height: float) -> tuple[Point, ...]:
    left, right, low, high = x - half_width, x + half_width, y - half_height, y + half_height
    return ((left, low), (right, low), (right, high), (left, high))
