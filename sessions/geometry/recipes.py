"""The derived dimensions of a position, as data: which measure between which points."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from sessions.geometry.limits import Unit
from sessions.geometry.measures import LATERAL, Measure
from sessions.geometry.points import SIDED, PointName

P = PointName


class Group(StrEnum):
    """Where a dimension stands in a table."""

    SADDLE = "saddle"
    REACH = "reach"
    BARS = "bars"
    HOODS = "hoods"
    LEVERS = "levers"
    PADS = "pads"
    PEDALS = "pedals"
    CLEATS = "cleats"
    FRAME = "frame"


@dataclass(frozen=True, slots=True)
class Term:
    """One measure from a start to an end point, times a factor."""

    measure: Measure
    start: PointName
    end: PointName
    factor: float = 1.0

    @property
    def needs_lateral(self) -> bool:
        """Whether the z of a sided point enters."""
        return self.measure in LATERAL and bool(SIDED & {self.start, self.end})


@dataclass(frozen=True, slots=True)
class Recipe:
    """A derived dimension: the sum of its terms."""

    key: str
    label: str
    unit: Unit
    group: Group
    terms: tuple[Term, ...]
    unless: PointName | None = None

    @property
    def points(self) -> frozenset[PointName]:
        """Every point that the dimension needs."""
        return frozenset(point for term in self.terms for point in (term.start, term.end))


def _one(
    key: str, label: str, group: Group, term: Term, *, unit: Unit = "mm", unless: PointName | None = None
) -> Recipe:
    return Recipe(key, label, unit, group, (term,), unless)


def _sides(stem: str, label: str, group: Group, left: Term, right: Term, *, unit: Unit = "mm") -> Iterator[Recipe]:
    minus = Term(right.measure, right.start, right.end, -right.factor)
    yield _one(f"{stem}_left", f"{label}, left", group, left, unit=unit)
    yield _one(f"{stem}_right", f"{label}, right", group, right, unit=unit)
    yield Recipe(f"{stem}_difference", f"{label}, left minus right", unit, group, (left, minus))


def _pair(stem: str, label: str, group: Group, measure: Measure, start: PointName, pair: str) -> Iterator[Recipe]:
    left, right = PointName(f"{pair}_left"), PointName(f"{pair}_right")
    return _sides(stem, label, group, Term(measure, start, left), Term(measure, start, right))


def _height_difference(stem: str, label: str, group: Group, pair: str) -> Recipe:
    left, right = PointName(f"{pair}_left"), PointName(f"{pair}_right")
    return _one(f"{stem}_difference", f"{label}, left minus right", group, Term(Measure.UP, right, left))


def _heights(stem: str, label: str, group: Group, pair: str) -> Iterator[Recipe]:
    for side in ("left", "right"):
        end = PointName(f"{pair}_{side}")
        yield _one(
            f"{stem}_height_{side}", f"{label} height above the floor, {side}", group, Term(Measure.UP, P.FLOOR, end)
        )
    for side in ("left", "right"):
        end = PointName(f"{pair}_{side}")
        above = f"{label} height above the bottom bracket, {side}"
        yield _one(f"{stem}_stack_{side}", above, group, Term(Measure.UP, P.BOTTOM_BRACKET, end))
    yield _height_difference(f"{stem}_height", f"{label} height", group, pair)


def _saddle() -> Iterator[Recipe]:
    bb, nose, datum, tail = P.BOTTOM_BRACKET, P.SADDLE_NOSE, P.SADDLE_DATUM, P.SADDLE_TAIL
    yield _one("saddle_height", "Saddle height", Group.SADDLE, Term(Measure.PLANE_DISTANCE, bb, datum))
    yield _one("setback_nose", "Saddle setback to the nose", Group.SADDLE, Term(Measure.FORWARD, nose, bb))
    yield _one("setback_datum", "Saddle setback to the datum", Group.SADDLE, Term(Measure.FORWARD, datum, bb))
    seat = Term(Measure.TILT, datum, bb, -1.0)
    yield _one("seat_angle", "Effective seat angle", Group.SADDLE, seat, unit="deg")
    yield _one("saddle_tilt", "Saddle tilt", Group.SADDLE, Term(Measure.TILT, datum, nose), unit="deg")
    whole = Term(Measure.TILT, tail, nose)
    yield _one("saddle_tilt_whole", "Saddle tilt, tail to nose", Group.SADDLE, whole, unit="deg", unless=datum)


def _reach() -> Iterator[Recipe]:
    nose, datum, hoods = P.SADDLE_NOSE, P.SADDLE_DATUM, P.HOOD_MIDDLE
    yield _one("saddle_to_hood_reach", "Saddle-to-hood reach", Group.REACH, Term(Measure.FORWARD, datum, hoods))
    yield _one("nose_to_hood", "Nose-to-hood distance", Group.REACH, Term(Measure.PLANE_DISTANCE, nose, hoods))
    yield from _pair("nose_to_hood", "Nose-to-hood distance by tape", Group.REACH, Measure.DISTANCE, nose, "hood")
    yield _one("drop", "Saddle-to-hood drop", Group.REACH, Term(Measure.UP, hoods, datum))


def _bars() -> Iterator[Recipe]:
    bb, clamp = P.BOTTOM_BRACKET, P.BAR_CLAMP
    yield _one("bar_stack", "Bar stack", Group.BARS, Term(Measure.UP, bb, clamp))
    yield _one("bar_reach", "Bar reach", Group.BARS, Term(Measure.FORWARD, bb, clamp))
    yield _one("bar_height", "Bar height above the floor", Group.BARS, Term(Measure.UP, P.FLOOR, clamp))


def _hoods() -> Iterator[Recipe]:
    yield from _heights("hood", "Hood", Group.HOODS, "hood")
    yield from _pair("hood_reach", "Hood reach", Group.HOODS, Measure.FORWARD, P.BOTTOM_BRACKET, "hood")
    yield _one("hood_width", "Hood width", Group.HOODS, Term(Measure.SIDE, P.HOOD_LEFT, P.HOOD_RIGHT))


def _levers() -> Iterator[Recipe]:
    yield from _heights("lever_tip", "Lever tip", Group.LEVERS, "lever_tip")
    yield from _pair("lever_tip_reach", "Lever tip reach", Group.LEVERS, Measure.FORWARD, P.BOTTOM_BRACKET, "lever_tip")
    yield _one(
        "lever_tip_width", "Lever tip width", Group.LEVERS, Term(Measure.SIDE, P.LEVER_TIP_LEFT, P.LEVER_TIP_RIGHT)
    )
    # Toe is positive where the tip points inwards, so the right side turns its sign.
    left = Term(Measure.PLAN_ANGLE, P.HOOD_LEFT, P.LEVER_TIP_LEFT)
    right = Term(Measure.PLAN_ANGLE, P.HOOD_RIGHT, P.LEVER_TIP_RIGHT, -1.0)
    yield from _sides("lever_toe", "Lever toe-in", Group.LEVERS, left, right, unit="deg")


def _pads() -> Iterator[Recipe]:
    bb, pads = P.BOTTOM_BRACKET, P.PAD_MIDDLE
    yield _one("pad_stack", "Pad height above the bottom bracket", Group.PADS, Term(Measure.UP, bb, pads))
    yield _one("pad_reach", "Pad reach", Group.PADS, Term(Measure.FORWARD, bb, pads))
    yield _one("pad_width", "Pad width", Group.PADS, Term(Measure.SIDE, P.PAD_LEFT, P.PAD_RIGHT))
    yield _one("pad_drop", "Saddle-to-pad drop", Group.PADS, Term(Measure.UP, pads, P.SADDLE_DATUM))
    yield from _heights("pad", "Pad", Group.PADS, "pad")
    yield from _pair("pad_reach", "Pad reach", Group.PADS, Measure.FORWARD, bb, "pad")


def _rest() -> Iterator[Recipe]:
    bb = P.BOTTOM_BRACKET
    yield _one("crank_length", "Crank length", Group.PEDALS, Term(Measure.PLANE_DISTANCE, bb, P.PEDAL_AXLE))
    yield _one("bb_height", "Bottom bracket height above the floor", Group.FRAME, Term(Measure.UP, P.FLOOR, bb))


RECIPES: tuple[Recipe, ...] = (*_saddle(), *_reach(), *_bars(), *_hoods(), *_levers(), *_pads(), *_rest())
