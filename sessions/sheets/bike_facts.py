"""What is known of a bike beside its measured points, for the parts of a drawing that are only schematic."""

import math
from dataclasses import dataclass, replace
from typing import Literal, Self

Bar = Literal["", "drop", "flat", "aero"]


@dataclass(frozen=True, slots=True)
class BikeFacts:
    """Facts that shape the schematic outline; whatever is None is drawn as it usually is.

    Parameters
    ----------
    bar
        What the hands hold; without it no bar is drawn.
    crank_before_mm, crank_after_mm
        Crank length as it was read [mm], for a bike whose pedal axle has no measured place.
    wheel_radius_mm, head_angle_deg, stem_length_mm, bar_reach_mm, bar_drop_mm
        As the bike's maker states them.
    """

    bar: Bar = ""
    crank_before_mm: float | None = None
    crank_after_mm: float | None = None
    wheel_radius_mm: float | None = None
    head_angle_deg: float | None = None
    stem_length_mm: float | None = None
    bar_reach_mm: float | None = None
    bar_drop_mm: float | None = None

    def with_one_position(self) -> Self:
        """The facts where the position before is drawn as the only one."""
        return replace(self, crank_before_mm=None, crank_after_mm=self.crank_before_mm)


NO_FACTS = BikeFacts()


def usual(fact: float | None, usually: float, least: float, most: float) -> float:
    """A fact where it is known and possible, what is usual otherwise.

    >>> usual(70.0, 73.0, 60, 80), usual(None, 73.0, 60, 80), usual(7.0, 73.0, 60, 80)
    (70.0, 73.0, 73.0)
    """
    return fact if fact is not None and math.isfinite(fact) and least <= fact <= most else usually
