"""What the side view is to show, and the paper that it is to be shown on."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

from sessions.sheets.bike_dimensions import crank_mm
from sessions.sheets.bike_facts import BikeFacts
from sessions.sheets.bike_points import FarPoint, side_points
from sessions.sheets.bike_shapes import Outline, outline_of
from sessions.sheets.numbers import NumberStyle
from sessions.sheets.scene import Point
from sessions.sheets.words import DrawingWords

Points = Mapping[str, Point]


@dataclass(frozen=True, slots=True)
class Paper:
    """The room for a drawing [mm], its letters' size, unit and words, and whether figures tell their change."""

    width_mm: float
    height_mm: float
    text_mm: float
    style: NumberStyle
    words: DrawingWords
    changes: bool = True


@dataclass(frozen=True, slots=True)
class Subject:
    """What is drawn: the points before and after [mm of the bike], and what else is known of the bike."""

    old: Points
    new: Points
    facts: BikeFacts
    before: Outline
    after: Outline

    @property
    def crank_mm(self) -> float | None:
        """Crank length [mm] after, from its points or as it was read."""
        return crank_mm(self.new) or self.facts.crank_after_mm

    @property
    def crank_was_mm(self) -> float | None:
        """Crank length [mm] before."""
        return crank_mm(self.old) or self.facts.crank_before_mm

    @classmethod
    def of(cls, before: Mapping[str, FarPoint], after: Mapping[str, FarPoint], facts: BikeFacts) -> Self:
        """Look at both positions from the side; without any point after, the one before is the only one."""
        old, new = side_points(before), side_points(after)
        if not new:
            old, new, facts = {}, old, facts.with_one_position()
        return cls(old, new, facts, outline_of(old, facts), outline_of(new, facts))
