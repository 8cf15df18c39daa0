"""An address as a QR code (ISO/IEC 18004), in modules for our own pen."""

from collections.abc import Iterator
from itertools import groupby

import segno

from sessions.sheets.boxes import Box
from sessions.sheets.pen import Nib, Pen

QUIET_MODULES = 4  # ISO/IEC 18004: light modules around the symbol
OVERLAP_MM = 0.02  # so that no viewer shows a seam between two rows
DARK = Nib(0.1, "ink")

Modules = tuple[tuple[bool, ...], ...]


def qr_modules(text: str) -> Modules:
    """Return the modules of the smallest code that holds a text and can lose about 15 % of its area: rows from the top, True for dark.

    >>> rows = qr_modules("https://wrenfield.example/")
    >>> len(rows) == len(rows[0]), rows[0][:8]
    (True, (True, True, True, True, True, True, True, False))
    """
    code = segno.make(text, error="m", micro=False, boost_error=False)
    return tuple(tuple(bool(module) for module in row) for row in code.matrix)


def draw_qr(pen: Pen, modules: Modules, left: float, top: float, side_mm: float) -> None:
    """Draw a code into a square, its quiet zone inside."""
    step = side_mm / (len(modules) + 2 * QUIET_MODULES)
    for number, row in enumerate(modules):
        for first, last in _runs(row):
            x = left + (QUIET_MODULES + first) * step
            y = top - (QUIET_MODULES + number) * step
            box = Box(x, y - step - OVERLAP_MM, x + (last - first) * step, y)
            corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
            pen.polyline(corners, DARK, filled=True)


def _runs(row: tuple[bool, ...]) -> Iterator[tuple[int, int]]:
    """Yield where each run of dark modules begins, and where it has ended."""
    place = 0
    for dark, run in groupby(row):
        length = len(list(run))
        if dark:
            yield place, place + length
        place += length
