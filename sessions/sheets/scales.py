"""The scale of a drawing, chosen from the standard ones."""

from collections.abc import Callable, Iterator
from itertools import islice
from typing import Protocol, TypeVar

from sessions.sheets.boxes import Box

# ISO 5455:1979, technical drawings, recommended reduction scales 1:2, 1:5, 1:10, 1:20, 1:50 …
SERIES = (2, 5, 10)
LARGEST_SCALES = 40  # 1 : 2 to beyond 1 : 10^12; a drawing that fits none of these has no meaning


class Bounded(Protocol):
    """Anything drawn that knows the box around it."""

    @property
    def bounds(self) -> Box:
        """The box around everything drawn [mm]."""


Drawn = TypeVar("Drawn", bound=Bounded)


def reductions() -> Iterator[int]:
    """Yield the standard reduction scales as the n of 1 : n, largest drawing first, without end.

    References
    ----------
    ISO 5455:1979, *Technical drawings: Scales*.

    >>> from itertools import islice
    >>> list(islice(reductions(), 7))
    [2, 5, 10, 20, 50, 100, 200]
    """
    decade = 1
    while True:
        for step in SERIES:
            yield step * decade
        decade *= 10


def scale_text(scale: int) -> str:
    """How a drawing states its scale.

    >>> scale_text(10)
    '1 : 10'
    """
    return f"1 : {scale}"


def largest_that_fits(draw: Callable[[int], Drawn], spread: Box, width_mm: float, height_mm: float) -> Drawn | None:
    """Draw at one standard scale after another until the drawing fits; None where none does.

    `spread` is the box around the points to be drawn, at full size: where even they do not fit nothing need be drawn.
    """
    for scale in islice(reductions(), LARGEST_SCALES):
        if spread.width > width_mm * scale or spread.height > height_mm * scale:
            continue
        drawn = draw(scale)
        if drawn.bounds.width <= width_mm and drawn.bounds.height <= height_mm:
            return drawn
    return None
