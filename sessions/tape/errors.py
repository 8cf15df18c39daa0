"""What can be wrong with a set of readings."""

from __future__ import annotations

from sessions.geometry.errors import MeasureError
from sessions.geometry.points import PointName


class TapeError(MeasureError):
    """Base of every refusal of a set of readings."""


class BadReadingError(TapeError):
    """A reading whose kind, points, unit and instrument do not belong together."""


class TooManyReadingsError(TapeError):
    """More readings than one bike is ever measured with."""


class UnderDeterminedError(TapeError):
    """Too few readings: ``point`` cannot be placed, and any one of ``completing`` would complete it.

    ``completing`` is empty where a single further reading is not enough; ``together`` then names readings that are.
    """

    def __init__(
        self, sentence: str, *, point: PointName, completing: tuple[str, ...], together: tuple[str, ...]
    ) -> None:
        super().__init__(sentence, value=point, key=point.value)
        self.point = point
        self.completing = completing
        self.together = together


class ContradictionError(TapeError):
    """Readings that no bike can satisfy together; ``keys`` names those that disagree most."""

    def __init__(self, sentence: str, *, keys: tuple[str, ...]) -> None:
        super().__init__(sentence, value=keys, key=keys[0] if keys else "")
        self.keys = keys
