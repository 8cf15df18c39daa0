"""One measured value with the instrument that took it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from sessions.geometry.limits import Limits, Unit, check_limits, check_number, check_sigma
from sessions.geometry.points import POINT_LABELS, PointName
from sessions.tape.errors import BadReadingError


class ReadingKind(StrEnum):
    """What was measured; "plumb" directions are those of the room, whatever the bike's pitch."""

    DISTANCE = "distance"  # straight between two points, by tape
    SIDE_DISTANCE = "side_distance"  # straight between two points as seen from the side
    HEIGHT = "height"  # plumb height of one point above the floor
    RISE = "rise"  # how much higher the second point is than the first
    OFFSET = "offset"  # how far the second point lies ahead of the first, plumb to plumb
    WIDTH = "width"  # how far the second point lies to the right of the first
    TILT = "tilt"  # rise of the line from the first to the second point, by level
    COORDINATE_X = "coordinate_x"
    COORDINATE_Y = "coordinate_y"
    COORDINATE_Z = "coordinate_z"
    CENTRING = "centring"  # how far the middle of two points lies to the right of the bike's middle plane
    SCALAR = "scalar"  # no points: what is read off a cleat or a part


class Instrument(StrEnum):
    """What took the reading."""

    TAPE = "tape"
    PLUMB = "plumb"
    JIG = "jig"
    LASER = "laser"
    MARKED = "marked"
    LEVEL = "level"
    GONIOMETER = "goniometer"
    INCLINOMETER = "inclinometer"
    ASSUMED = "assumed"


# At the bike the pointing is the limit, not the scale, so that jig and laser start from the tape's figure.
# A length stamped on a part: half a millimetre, common practice, no source.
DEFAULT_SIGMA: Mapping[Instrument, float] = {
    Instrument.TAPE: 1.5,
    Instrument.PLUMB: 1.5,
    Instrument.JIG: 1.5,
    Instrument.LASER: 1.5,
    Instrument.MARKED: 0.5,
    Instrument.LEVEL: 0.2,
    Instrument.GONIOMETER: 3.0,
    Instrument.INCLINOMETER: 2.0,
    Instrument.ASSUMED: 3.0,
}
ANGLE_INSTRUMENTS = frozenset({Instrument.LEVEL, Instrument.GONIOMETER, Instrument.INCLINOMETER})
COORDINATES = (ReadingKind.COORDINATE_X, ReadingKind.COORDINATE_Y, ReadingKind.COORDINATE_Z)

_ONE_POINT = frozenset({ReadingKind.HEIGHT, *COORDINATES})
_SIGMA_LIMIT: Mapping[str, float] = {"mm": 100.0, "deg": 20.0}
COORDINATE_LIMITS = Limits(
    -2500.0, 2500.0, "mm", "Coordinates are taken from the bottom bracket or from the jig's zero."
)


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured value.

    Parameters
    ----------
    key : str
        What was read; readings of the same key are repeats of each other.
    kind : ReadingKind
    points : tuple of PointName
        None for a scalar, one for a height or coordinate, otherwise from the first to the second.
    value : float
        [unit]
    sigma : float
        One-sigma uncertainty [unit].
    instrument : Instrument
    unit : {"mm", "deg"}
    label : str
        Plain English name; the key where it is empty.

    Raises
    ------
    NotANumberError, BadSigmaError, BadReadingError
        If the value or its uncertainty is no number, or kind, points, unit and instrument do not belong together.
    """

    key: str
    kind: ReadingKind
    points: tuple[PointName, ...]
    value: float
    sigma: float
    instrument: Instrument = Instrument.TAPE
    unit: Unit = "mm"
    label: str = ""

    def __post_init__(self) -> None:
        check_number(self.name, self.value, key=self.key)
        sigma = check_sigma(self.name, self.sigma, key=self.key)
        if sigma > _SIGMA_LIMIT[self.unit]:
            raise BadReadingError(f"{self.name}: so uncertain a reading says nothing.", value=sigma, key=self.key)
        self._check_points()
        self._check_unit()

    @property
    def name(self) -> str:
        """The label, or the key made readable."""
        return self.label or self.key.replace("_", " ").capitalize()

    def _check_points(self) -> None:
        wanted = 0 if self.kind is ReadingKind.SCALAR else 1 if self.kind in _ONE_POINT else 2
        if len(self.points) != wanted or len(set(self.points)) != wanted:
            raise BadReadingError(f"{self.name}: name {wanted} different points.", value=self.points, key=self.key)

    def _check_unit(self) -> None:
        if self.kind is not ReadingKind.SCALAR and (self.unit == "deg") != (self.kind is ReadingKind.TILT):
            raise BadReadingError(f"{self.name}: is this a length or an angle?", value=self.unit, key=self.key)
        if self.instrument is not Instrument.ASSUMED and (self.unit == "deg") != (self.instrument in ANGLE_INSTRUMENTS):
            sentence = f"{self.name}: a {self.instrument.value} does not read in this unit."
            raise BadReadingError(sentence, value=self.instrument, key=self.key)


def between(
    kind: ReadingKind,
    start: PointName,
    end: PointName,
    value: float,
    *,
    sigma: float | None = None,
    instrument: Instrument | None = None,
) -> Reading:
    """Return a reading between any two points, named after them.

    Examples
    --------
    >>> r = between(ReadingKind.DISTANCE, PointName.SADDLE_TAIL, PointName.BAR_CLAMP, 812.0)
    >>> r.key, r.label, r.sigma
    ('distance.saddle_tail.bar_clamp', 'Distance, saddle tail to bar clamp centre', 1.5)
    """
    used = instrument or (Instrument.LEVEL if kind is ReadingKind.TILT else Instrument.TAPE)
    return Reading(
        f"{kind.value}.{start.value}.{end.value}",
        kind,
        (start, end),
        value,
        DEFAULT_SIGMA[used] if sigma is None else sigma,
        used,
        "deg" if kind is ReadingKind.TILT else "mm",
        f"{kind.value.replace('_', ' ').capitalize()}, {POINT_LABELS[start]} to {POINT_LABELS[end]}",
    )


def coordinate_key(point: PointName, axis: str) -> str:
    """Return the key of a coordinate reading; ``axis`` is x, y or z."""
    return f"{point.value}_{axis}"


def coordinates(
    point: PointName,
    values: Sequence[float | None],
    *,
    sigma: float | None = None,
    instrument: Instrument = Instrument.JIG,
) -> tuple[Reading, ...]:
    """Return the readings of a point's coordinates, leaving out those that are None.

    Parameters
    ----------
    point : PointName
    values : sequence of float or None
        x, y and, where measured, z [mm]. Where the bottom bracket itself is among the points read, everything counts from it;
        otherwise the jig's zero is the bottom bracket.
    sigma : float, optional
        Uncertainty of each [mm]; the instrument's own by default.

    Raises
    ------
    OutOfLimitsError, NotANumberError
        If a coordinate is implausible.

    Examples
    --------
    >>> [(r.key, r.value) for r in coordinates(PointName.HOOD_LEFT, (455.0, 610.0, None))]
    [('hood_left_x', 455.0), ('hood_left_y', 610.0)]
    """
    chosen = DEFAULT_SIGMA[instrument] if sigma is None else sigma
    return tuple(
        _coordinate(point, kind, value, chosen, instrument)
        for kind, value in zip(COORDINATES, values, strict=False)
        if value is not None
    )


def _coordinate(point: PointName, kind: ReadingKind, value: float, sigma: float, instrument: Instrument) -> Reading:
    axis = kind.value[-1]
    key, label = coordinate_key(point, axis), f"{POINT_LABELS[point].capitalize()}, {axis}"
    checked = check_limits(label, value, COORDINATE_LIMITS, key=key)
    return Reading(key, kind, (point,), checked, sigma, instrument, "mm", label)
