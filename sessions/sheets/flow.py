"""Slips of content that flow down two columns and on to further pages."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from sessions.sheets.pen import Pen

STEP_MM = 2.0
UNEVEN = 1.3  # how much taller a column may grow so that no section is cut

Draw = Callable[[Pen, float, float], None]


@dataclass(frozen=True, slots=True)
class Slip:
    """A piece of content that is never cut: its height [mm] and how to draw it from its top left corner.

    A `glued` slip, such as a heading, never stands last in a column. `lead_mm` is the part of the height that is only
    space above it, left out at the top of a column.
    """

    height_mm: float
    draw: Draw
    glued: bool = False
    lead_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Placed:
    """A slip at its place: the column it is in and how far its top lies below the column's top [mm]."""

    slip: Slip
    column: int
    down_mm: float


def filled(slips: Sequence[Slip], height_mm: float, columns: int) -> list[Placed]:
    """Place as many slips as fit, in order, column after column.

    >>> [place.column for place in filled([Slip(6, lambda *_: None)] * 5, 12, 2)]
    [0, 0, 1, 1]
    """
    placed: list[Placed] = []
    column, down = 0, -slips[0].lead_mm if slips else 0.0
    for index, slip in enumerate(slips):
        if down + _glued_height(slips, index) > height_mm:
            column, down = column + 1, -slip.lead_mm
        if column == columns or down + slip.height_mm > height_mm:
            break
        placed.append(Placed(slip, column, down))
        down += slip.height_mm
    return _without_loose_end(placed, len(slips))


def _glued_height(slips: Sequence[Slip], index: int) -> float:
    """Height of a slip with all that it is glued to."""
    height = 0.0
    for slip in slips[index:]:
        height += slip.height_mm
        if not slip.glued:
            break
    return height


def _without_loose_end(placed: list[Placed], wanted: int) -> list[Placed]:
    """Leave a heading that lost what it heads to the next page."""
    while placed and len(placed) < wanted and placed[-1].slip.glued:
        placed.pop()
    return placed


def balanced(slips: Sequence[Slip], height_mm: float, columns: int) -> list[Placed]:
    """Place as many slips as `filled` would, in columns about as even as they can be.

    Columns that begin with a heading are preferred to ones that cut a section, up to a little unevenness.
    """
    best = filled(slips, height_mm, columns)
    kept = slips[: len(best)]
    even: list[Placed] = []
    height = sum(slip.height_mm for slip in kept) / columns
    while height < height_mm:
        tried = filled(kept, height, columns)
        if len(tried) == len(kept):
            if _whole_columns(tried):
                return tried
            even = even or tried
            height_mm = min(height_mm, UNEVEN * used_mm(even))
        height += STEP_MM
    return even or best


def _whole_columns(placed: Sequence[Placed]) -> bool:
    """Whether every column after the first begins with something that may stand under open space, such as a heading."""
    starts = (now.slip for before, now in pairwise(placed) if now.column != before.column)
    return all(slip.lead_mm > 0 for slip in starts)


def used_mm(placed: Sequence[Placed]) -> float:
    """Height of the longest column."""
    return max((place.down_mm + place.slip.height_mm for place in placed), default=0.0)


def paged(slips: Sequence[Slip], height_of: Callable[[int], float], columns: int) -> list[list[Placed]]:
    """Place all slips, page after page; `height_of` gives the room [mm] on each page from 0, which may be none on the first.

    What is glued together but taller than a whole page is let loose, so that every slip finds its place.
    """
    pages: list[list[Placed]] = []
    rest = list(slips)
    while rest:
        page = len(pages)
        placed = balanced(rest, height_of(page), columns)
        if not placed and page:
            placed = _loosened(rest, height_of(page), columns)
        pages.append(placed)
        rest = rest[len(placed) :]
    return pages


def _loosened(slips: Sequence[Slip], height_mm: float, columns: int) -> list[Placed]:
    loose = filled([replace(slip, glued=False) for slip in slips], height_mm, columns)
    return loose or [Placed(slips[0], 0, 0.0)]
