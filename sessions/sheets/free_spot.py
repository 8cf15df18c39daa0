"""Where on a drawing there is room for something large: free boxes, found by counting covered cells."""

import math
from collections.abc import Iterable
from copy import copy

import numpy as np

from sessions.sheets.boxes import Box, around
from sessions.sheets.scene import Point

Cells = np.ndarray[tuple[int, int], np.dtype[np.float64]]

CELL_MM = 1.0
MOST_CELLS = 1000
# What a spot costs, in millimetres that it might as well lie further off.
ASTRAY_COST = 60.0  # on the wrong side of the bottom bracket
HIDDEN_WEIGHT = 0.5  # for each faint cell that it hides, by weight
WIDENING_WEIGHT, RAISING_WEIGHT = 0.5, 3.0  # for each millimetre that the drawing must grow


class FreeRoom:
    """A stretch of paper, cell by cell: what is covered, and what is only faint and may be hidden at a price."""

    def __init__(
        self,
        bounds: Box,
        width_mm: float,
        height_mm: float,
        obstacles: Iterable[Box],
        faint: Iterable[tuple[Box, float]],
    ) -> None:
        """Look around `bounds`, the box around the drawing so far, which may grow to this size, upwards and aside.

        `faint` are boxes that may be hidden, with their weight.
        """
        self.bounds, self.width_mm, self.height_mm = bounds, width_mm, height_mm
        area = Box(bounds.right - width_mm, bounds.bottom, bounds.left + width_mm, bounds.bottom + height_mm)
        self.area = area
        self.columns = min(MOST_CELLS, int(area.width / CELL_MM))
        self.rows = min(MOST_CELLS, int(area.height / CELL_MM))
        self.solid = self._covered((box, 1.0) for box in obstacles)
        self.faint = _sums(self._covered(faint))

    def spot(self, width_mm: float, height_mm: float, near: Point) -> tuple[float, Box] | None:
        """The best free box of this size and what it costs: near a point and on its side of the origin, hiding little,
        growing the drawing little.

        >>> room = FreeRoom(Box(0, 0, 10, 10), 20, 10, [Box(0, 0, 10, 10)], [])
        >>> room.spot(6, 6, (6, 5))[1]
        Box(left=10.0, bottom=2.0, right=16.0, top=8.0)
        """
        wide, high = math.ceil(width_mm / CELL_MM), math.ceil(height_mm / CELL_MM)
        if wide > self.columns or high > self.rows:
            return None
        hits = _windows(_sums(self.solid), wide, high)
        left = self.area.left + CELL_MM * np.arange(hits.shape[1])[None, :]
        bottom = self.area.bottom + CELL_MM * np.arange(hits.shape[0])[:, None]
        bounds = self.bounds
        wider = np.maximum(0, bounds.left - left) + np.maximum(0, left + width_mm - bounds.right)
        higher = np.maximum(0, bounds.bottom - bottom) + np.maximum(0, bottom + height_mm - bounds.top)
        away = np.hypot(left + width_mm / 2 - near[0], bottom + height_mm / 2 - near[1])
        astray = (left + width_mm / 2) * near[0] < 0
        hidden = _windows(self.faint, wide, high)
        cost = away + ASTRAY_COST * astray + HIDDEN_WEIGHT * hidden + WIDENING_WEIGHT * wider + RAISING_WEIGHT * higher
        cost[(hits > 0) | (wider > self.width_mm - bounds.width) | (higher > self.height_mm - bounds.height)] = np.inf
        row, column = divmod(int(np.argmin(cost)), hits.shape[1])
        if not math.isfinite(cost[row, column]):
            return None
        corner = (float(left[0, column]), float(bottom[row, 0]))
        return float(cost[row, column]), Box(*corner, corner[0] + width_mm, corner[1] + height_mm)

    def with_taken(self, box: Box) -> "FreeRoom":
        """The same room with a box covered."""
        room = copy(self)
        room.solid = np.maximum(self.solid, self._covered([(box, 1.0)]))
        room.bounds = around([self.bounds, box])
        return room

    def _covered(self, weighed: Iterable[tuple[Box, float]]) -> Cells:
        covered: Cells = np.zeros((self.rows, self.columns))
        for box, weight in weighed:
            left, right = box.left - self.area.left, box.right - self.area.left
            bottom, top = box.bottom - self.area.bottom, box.top - self.area.bottom
            covered[_down(bottom) : _up(top), _down(left) : _up(right)] = weight
        return covered


def _down(distance_mm: float) -> int:
    return max(0, math.floor(distance_mm / CELL_MM))


def _up(distance_mm: float) -> int:
    return max(0, math.ceil(distance_mm / CELL_MM))


def _sums(cells: Cells) -> Cells:
    """Sums from the corner, with a row and a column of nothing before them."""
    total: Cells = np.pad(cells.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    return total


def _windows(total: Cells, wide: int, high: int) -> Cells:
    """The sum of the cells in each window, by its lower left corner: four entries of the sums apart."""
    found: Cells = total[high:, wide:] - total[:-high, wide:] - total[high:, :-wide] + total[:-high, :-wide]
    return found
