"""What a fitter can read at the bench, under the keys by which readings are stored: the common set, and coordinates of points."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from sessions.geometry.errors import UnknownKeyError
from sessions.geometry.limits import Limits, Unit
from sessions.geometry.points import MIDDLES, POINT_LABELS, SIDED, PointName
from sessions.geometry.recipes import Group
from sessions.tape.common import COMMON, CommonReading
from sessions.tape.readings import ANGLE_INSTRUMENTS, COORDINATE_LIMITS, DEFAULT_SIGMA, Instrument, Reading, coordinates
from sessions.tape.taking import take

AXES = ("x", "y", "z")
LENGTH_INSTRUMENTS = (Instrument.TAPE, Instrument.PLUMB, Instrument.JIG, Instrument.LASER, Instrument.MARKED)
ANGLE_INSTRUMENTS_IN_ORDER = tuple(each for each in Instrument if each in ANGLE_INSTRUMENTS)


class Part(StrEnum):
    """A stretch of the bench page: what is read at one go, in the order of walking round the bike."""

    FRAME = "frame"
    SADDLE = "saddle"
    REACH = "reach"
    HOODS = "hoods"
    PADS = "pads"
    CLEATS = "cleats"
    MORE = "more"
    POINTS = "points"


@dataclass(frozen=True, slots=True)
class Quantity:
    """One thing that can be read: how it is called, taken and limited.

    Parameters
    ----------
    key : str
        As stored: the tape core's key of the common set, or ``point.axis``.
    part : Part
        Where it stands on the page.
    instrument : Instrument
        The usual one.
    point, axis
        Of a coordinate; None and empty otherwise.
    """

    key: str
    label: str
    how: str
    limits: Limits
    part: Part
    instrument: Instrument
    point: PointName | None = None
    axis: str = ""

    @property
    def slug(self) -> str:
        """The key as it can stand in an HTML id."""
        return self.key.replace(".", "-")

    @property
    def core_key(self) -> str:
        """The key under which the tape core speaks of it."""
        return self.key.replace(".", "_")

    @property
    def unit(self) -> Unit:
        """The unit of its value."""
        return self.limits.unit

    @property
    def instruments(self) -> tuple[Instrument, ...]:
        """What it can be read with."""
        return ANGLE_INSTRUMENTS_IN_ORDER if self.unit == "deg" else LENGTH_INSTRUMENTS

    def sigma_of(self, instrument: Instrument) -> float:
        """Return the usual one-sigma uncertainty of an instrument [unit]."""
        return DEFAULT_SIGMA[instrument]

    def reading(self, value: float, *, sigma: float | None = None, instrument: Instrument | None = None) -> Reading:
        """Return the reading as the tape core takes it.

        Raises
        ------
        MeasureError
            Where the value, its uncertainty or the instrument cannot be; the sentence is for the field.

        Examples
        --------
        >>> quantity("hood_left.y").reading(612.0).key
        'hood_left_y'
        """
        used = instrument or self.instrument
        if self.point is None:
            return take(self.key, value, sigma=sigma, instrument=used)
        values = [value if axis == self.axis else None for axis in AXES]
        return coordinates(self.point, values, sigma=sigma, instrument=used)[0]


_PARTS: Mapping[Group, Part] = {
    Group.SADDLE: Part.SADDLE,
    Group.REACH: Part.REACH,
    Group.HOODS: Part.HOODS,
    Group.PADS: Part.PADS,
    Group.CLEATS: Part.CLEATS,
    Group.FRAME: Part.FRAME,
    Group.PEDALS: Part.FRAME,
}
# Welcome, but asked only on demand: the rest of the common set fixes the position without them.
_EXTRA = frozenset({"nose_to_hood_left", "nose_to_hood_right", "hood_width"})


def _common(each: CommonReading) -> Quantity:
    part = Part.MORE if each.key in _EXTRA else _PARTS.get(each.group, Part.MORE)
    return Quantity(each.key, each.label, each.how, each.limits, part, each.instrument)


def axes_of(point: PointName) -> tuple[str, ...]:
    """Return the coordinates that a point can have: the floor only its height, and z only what may lie beside the middle.

    Examples
    --------
    >>> axes_of(PointName.FLOOR), axes_of(PointName.SADDLE_NOSE), axes_of(PointName.PAD_LEFT)
    (('y',), ('x', 'y'), ('x', 'y', 'z'))
    """
    if point is PointName.FLOOR:
        return ("y",)
    return AXES if point in SIDED or point is PointName.BOTTOM_BRACKET else AXES[:2]


COORDINATE_HOW = {
    "x": "Forward of the bottom bracket, or of the jig's zero where the bottom bracket itself is entered here.",
    "y": "Above the bottom bracket, or above the jig's zero where the bottom bracket itself is entered here.",
    "z": "To the rider's right of the bike's middle plane; negative on the left.",
}


def _coordinates() -> Iterator[Quantity]:
    for point in PointName:
        if point in MIDDLES:
            continue
        for axis in axes_of(point):
            label = f"{POINT_LABELS[point].capitalize()}, {axis}"
            how = COORDINATE_HOW[axis]
            key = f"{point.value}.{axis}"
            yield Quantity(key, label, how, COORDINATE_LIMITS, Part.POINTS, Instrument.JIG, point, axis)


QUANTITIES: Mapping[str, Quantity] = {
    each.key: each for each in (*(_common(each) for each in COMMON.values()), *_coordinates())
}
OF_CORE_KEY: Mapping[str, Quantity] = {each.core_key: each for each in QUANTITIES.values()}


def quantity(key: str) -> Quantity:
    """Return what is stored under a key.

    Raises
    ------
    UnknownKeyError
        If nothing is.
    """
    if key not in QUANTITIES:
        raise UnknownKeyError("There is no such reading.", value=key, key=key)
    return QUANTITIES[key]


def quantities_of(part: Part) -> tuple[Quantity, ...]:
    """Return what stands in one part of the page, in the order in which it is read."""
    found = tuple(each for each in QUANTITIES.values() if each.part is part)
    # The floor under the bottom bracket comes first: heights mean nothing without it.
    return tuple(sorted(found, key=lambda each: each.key != "bb_height")) if part is Part.FRAME else found
