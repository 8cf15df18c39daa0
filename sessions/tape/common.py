"""The common set of readings that the bench form offers, with what each means and what it refuses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sessions.geometry.limits import Limits, Unit
from sessions.geometry.points import PointName
from sessions.geometry.recipes import Group
from sessions.tape.readings import DEFAULT_SIGMA, Instrument, ReadingKind

P, K = PointName, ReadingKind


@dataclass(frozen=True, slots=True)
class CommonReading:
    """One reading of the common set: how it is called, taken and limited."""

    key: str
    label: str
    kind: ReadingKind
    points: tuple[PointName, ...]
    limits: Limits
    group: Group
    how: str
    instrument: Instrument = Instrument.TAPE

    @property
    def unit(self) -> Unit:
        """The unit of the value."""
        return self.limits.unit

    @property
    def sigma(self) -> float:
        """The default one-sigma uncertainty [unit]."""
        return DEFAULT_SIGMA[self.instrument]


FLOOR_WHY = "Heights are taken plumb from the floor that the bike stands on."


def _saddle() -> Iterator[CommonReading]:
    bb, nose, datum = P.BOTTOM_BRACKET, P.SADDLE_NOSE, P.SADDLE_DATUM
    yield CommonReading(
        "saddle_height",
        "Saddle height",
        K.SIDE_DISTANCE,
        (bb, datum),
        Limits(
            350, 1000, "mm", "It runs straight from the bottom bracket's centre to the saddle where it is 80 mm wide."
        ),
        Group.SADDLE,
        "Tape from the centre of the bottom bracket axle straight to the saddle's top where it is 80 mm wide.",
    )
    yield CommonReading(
        "setback_nose",
        "Saddle setback to the nose",
        K.OFFSET,
        (nose, bb),
        Limits(-200, 250, "mm", "It is positive where the nose lies behind the bottom bracket."),
        Group.SADDLE,
        "Plumb line from the saddle's nose; tape level from it to the bottom bracket. "
        "Positive behind the bottom bracket.",
        Instrument.PLUMB,
    )
    yield CommonReading(
        "setback_datum",
        "Saddle setback to the datum",
        K.OFFSET,
        (datum, bb),
        Limits(-100, 450, "mm", "It is positive where the saddle lies behind the bottom bracket."),
        Group.SADDLE,
        "As for the nose, from where the saddle is 80 mm wide.",
        Instrument.PLUMB,
    )
    yield CommonReading(
        "saddle_tilt",
        "Saddle tilt",
        K.TILT,
        (datum, nose),
        Limits(-30, 30, "deg", "Nose up is positive."),
        Group.SADDLE,
        "Level along the middle of the saddle, from where it is 80 mm wide to the nose. Nose up is positive.",
        Instrument.LEVEL,
    )


def _reach() -> Iterator[CommonReading]:
    nose, datum, middle = P.SADDLE_NOSE, P.SADDLE_DATUM, P.HOOD_MIDDLE
    far = Limits(250, 1000, "mm", "It runs from the saddle's nose to the hood rest.")
    yield CommonReading(
        "nose_to_hood",
        "Nose-to-hood distance",
        K.SIDE_DISTANCE,
        (nose, middle),
        far,
        Group.REACH,
        "Lay a straightedge across both hood rests; tape from the saddle's nose straight to its middle.",
    )
    for side, point in (("left", P.HOOD_LEFT), ("right", P.HOOD_RIGHT)):
        yield CommonReading(
            f"nose_to_hood_{side}",
            f"Nose-to-hood distance by tape, {side}",
            K.DISTANCE,
            (nose, point),
            far,
            Group.REACH,
            f"Tape from the saddle's nose straight to the {side} hood rest; the hood width is needed with it.",
        )
    yield CommonReading(
        "drop",
        "Saddle-to-hood drop",
        K.RISE,
        (middle, datum),
        Limits(-400, 400, "mm", "It is positive where the hoods lie lower than the saddle."),
        Group.REACH,
        "Height of the saddle where it is 80 mm wide less height of the hood rests. Positive where the hoods are lower.",
    )


def _pair(
    stem: str, label: str, pair: str, group: Group, heights: Limits, reaches: Limits, widths: Limits
) -> Iterator[CommonReading]:
    left, right = PointName(f"{pair}_left"), PointName(f"{pair}_right")
    what = label.lower()
    for side, point in (("left", left), ("right", right)):
        yield CommonReading(
            f"{stem}_height_{side}",
            f"{label} height above the floor, {side}",
            K.HEIGHT,
            (point,),
            heights,
            group,
            f"Tape plumb from the floor to the {side} {what}.",
        )
    for side, point in (("left", left), ("right", right)):
        yield CommonReading(
            f"{stem}_reach_{side}",
            f"{label} reach, {side}",
            K.OFFSET,
            (P.BOTTOM_BRACKET, point),
            reaches,
            group,
            f"Plumb line from the {side} {what}; tape level from it back to the bottom bracket.",
            Instrument.PLUMB,
        )
    yield CommonReading(
        f"{stem}_width",
        f"{label} width",
        K.WIDTH,
        (left, right),
        widths,
        group,
        f"Tape across from the left to the right {what}, middle to middle.",
    )


def _front() -> Iterator[CommonReading]:
    floor = Limits(400, 1500, "mm", FLOOR_WHY)
    yield from _pair("hood", "Hood", "hood", Group.HOODS, floor, Limits(100, 900), Limits(200, 900))
    yield CommonReading(
        "bb_height",
        "Bottom bracket height above the floor",
        K.HEIGHT,
        (P.BOTTOM_BRACKET,),
        Limits(180, 700, "mm", FLOOR_WHY),
        Group.FRAME,
        "Tape plumb from the floor to the bottom bracket's centre.",
    )
    yield CommonReading(
        "bar_height",
        "Bar height above the floor",
        K.HEIGHT,
        (P.BAR_CLAMP,),
        floor,
        Group.BARS,
        "Tape plumb from the floor to the centre of the bar at the stem.",
    )
    yield CommonReading(
        "bar_reach",
        "Bar reach",
        K.OFFSET,
        (P.BOTTOM_BRACKET, P.BAR_CLAMP),
        Limits(100, 900),
        Group.BARS,
        "Plumb line from the centre of the bar at the stem; tape level from it back to the bottom bracket.",
        Instrument.PLUMB,
    )
    yield from _pair("lever_tip", "Lever tip", "lever_tip", Group.LEVERS, floor, Limits(100, 1000), Limits(150, 900))
    yield from _pair("pad", "Pad", "pad", Group.PADS, floor, Limits(-100, 800), Limits(0, 500))


def _feet() -> Iterator[CommonReading]:
    yield CommonReading(
        "crank_length",
        "Crank length",
        K.SIDE_DISTANCE,
        (P.BOTTOM_BRACKET, P.PEDAL_AXLE),
        Limits(100, 220, "mm", "It runs from the bottom bracket's centre to the pedal axle's."),
        Group.PEDALS,
        "Read it off the crank's inner side.",
        Instrument.MARKED,
    )
    for side in ("left", "right"):
        yield CommonReading(
            f"cleat_fore_aft_{side}",
            f"Cleat fore-aft, {side}",
            K.SCALAR,
            (),
            Limits(-90, 60),
            Group.CLEATS,
            "From the ball of the foot, marked on the shoe, to the pedal axle's line on the cleat. Positive towards the toes.",
        )
    for side in ("left", "right"):
        yield CommonReading(
            f"cleat_lateral_{side}",
            f"Cleat lateral, {side}",
            K.SCALAR,
            (),
            Limits(-40, 40),
            Group.CLEATS,
            "From the middle of the sole to the middle of the cleat. Positive where the cleat sits outwards.",
        )
    for side in ("left", "right"):
        yield CommonReading(
            f"cleat_rotation_{side}",
            f"Cleat rotation, {side}",
            K.SCALAR,
            (),
            Limits(-45, 45, "deg"),
            Group.CLEATS,
            "Angle of the shoe to the pedal's line at mid-float. Positive where the toes point outwards.",
            Instrument.GONIOMETER,
        )


COMMON: Mapping[str, CommonReading] = {each.key: each for each in (*_saddle(), *_reach(), *_front(), *_feet())}
SCALARS: Mapping[str, CommonReading] = {key: each for key, each in COMMON.items() if each.kind is K.SCALAR}
AERO_KEYS: frozenset[str] = frozenset(key for key, each in COMMON.items() if each.group is Group.PADS)
