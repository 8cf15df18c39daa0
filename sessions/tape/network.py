"""Observation equations: what every reading should be at given coordinates, and its exact derivatives."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sessions.geometry.frame import FloatArray, X, Y, Z, pitch_rotation, pitch_rotation_slope
from sessions.geometry.measures import ANGLES, Groups, Measure, grouped, measured
from sessions.geometry.points import MIDDLES, SIDED, PointName
from sessions.tape.readings import Reading, ReadingKind

MEASURE_OF: Mapping[ReadingKind, Measure] = {
    ReadingKind.DISTANCE: Measure.DISTANCE,
    ReadingKind.SIDE_DISTANCE: Measure.PLANE_DISTANCE,
    ReadingKind.HEIGHT: Measure.UP,
    ReadingKind.RISE: Measure.UP,
    ReadingKind.OFFSET: Measure.FORWARD,
    ReadingKind.WIDTH: Measure.SIDE,
    ReadingKind.TILT: Measure.TILT,
    ReadingKind.COORDINATE_X: Measure.FORWARD,
    ReadingKind.COORDINATE_Y: Measure.UP,
    ReadingKind.COORDINATE_Z: Measure.SIDE,
    ReadingKind.CENTRING: Measure.SIDE,
    ReadingKind.SCALAR: Measure.FORWARD,
}

# Where the iteration begins: about an adult's road bike. Of two mirror solutions it picks the one of this shape.
USUAL_MM: Mapping[PointName, tuple[float, float, float]] = {
    PointName.BOTTOM_BRACKET: (0.0, 0.0, 0.0),
    PointName.SADDLE_NOSE: (-55.0, 712.0, 0.0),
    PointName.SADDLE_DATUM: (-203.0, 716.0, 0.0),
    PointName.SADDLE_TAIL: (-331.0, 729.0, 0.0),
    PointName.BAR_CLAMP: (468.0, 604.0, 0.0),
    PointName.LEVER_TIP_LEFT: (611.0, 568.0, -199.0),
    PointName.LEVER_TIP_RIGHT: (611.0, 568.0, 199.0),
    PointName.HOOD_LEFT: (557.0, 641.0, -206.0),
    PointName.HOOD_RIGHT: (557.0, 641.0, 206.0),
    PointName.DROP_LEFT: (531.0, 503.0, -213.0),
    PointName.DROP_RIGHT: (531.0, 503.0, 213.0),
    PointName.PAD_LEFT: (327.0, 693.0, -104.0),
    PointName.PAD_RIGHT: (327.0, 693.0, 104.0),
    PointName.PEDAL_AXLE: (51.0, -164.0, 0.0),
    PointName.FRONT_AXLE: (591.0, 71.0, 0.0),
    PointName.REAR_AXLE: (-404.0, 69.0, 0.0),
    PointName.STEERER_TOP: (397.0, 602.0, 0.0),
    PointName.FLOOR: (0.0, -271.0, 0.0),
}


@dataclass(frozen=True, eq=False, slots=True)
class Network:
    """All readings of one bike as functions of one vector.

    The vector holds x, y, z of each point, then of the jig's zero, then the scalars; ``free`` marks the unknowns in it
    and ``start`` carries known values and starting values. ``selection`` (m, 3, N) makes each reading's vector from it.
    """

    readings: tuple[Reading, ...]
    points: tuple[PointName, ...]
    scalars: tuple[str, ...]
    start: FloatArray
    free: NDArray[np.bool_]
    selection: FloatArray
    groups: Groups
    plumb: NDArray[np.bool_]
    angles: NDArray[np.bool_]
    pitch_deg: float
    observed: FloatArray
    sigma: FloatArray

    def predicted(self, state: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the readings expected at a state, their derivatives by the state (m, N) and by the pitch (m,)."""
        bike = self.selection @ state
        turn = pitch_rotation(self.pitch_deg)
        values, gradients = measured(self.groups, self._in_the_room(bike, turn))
        own = self._in_the_room(gradients, turn.T)
        jacobian = (own[:, None, :] @ self.selection)[:, 0, :]
        slope = (gradients * (bike @ pitch_rotation_slope(self.pitch_deg).T)).sum(axis=1) * self.plumb
        return values, jacobian, slope

    def misfit(self, state: FloatArray) -> float:
        """Return the weighted sum of squares Σ(misclosure/σ)² at a state."""
        values, _ = measured(self.groups, self._in_the_room(self.selection @ state, pitch_rotation(self.pitch_deg)))
        return float(((self.misclosure(values) / self.sigma) ** 2).sum())

    def misclosure(self, values: FloatArray) -> FloatArray:
        """Return observed less expected readings, angles by the short way round."""
        difference = self.observed - values
        return np.where(self.angles, (difference + 180.0) % 360.0 - 180.0, difference)

    def _in_the_room(self, vectors: FloatArray, turn: FloatArray) -> FloatArray:
        # What is no vector, a scalar, does not turn with the bike.
        return np.where(self.plumb[:, None], vectors @ turn.T, vectors)


def build_network(
    readings: Sequence[Reading],
    *,
    pitch_deg: float = 0.0,
    known: Mapping[PointName, Sequence[float]] | None = None,
    start: Mapping[PointName, Sequence[float]] | None = None,
) -> Network:
    """Set up the observation equations.

    Parameters
    ----------
    readings : sequence of Reading
    pitch_deg : float
        How far the front of the bike stood up [deg].
    known : mapping, optional
        Points whose coordinates are given and not adjusted [mm].
    start : mapping, optional
        Better starting coordinates than those of a usual bike [mm].
    """
    points = _points_of(readings, known or {})
    scalars = tuple(dict.fromkeys(r.key for r in readings if r.kind is ReadingKind.SCALAR))
    first = {**USUAL_MM, **{name: _three(xyz) for name, xyz in {**(start or {}), **(known or {})}.items()}}
    zero = len(points)
    state = np.zeros(3 * (zero + 1) + len(scalars))
    state[: 3 * zero] = np.array([first[name] for name in points]).ravel()
    free = np.concatenate(
        [*(_free_axes(name, known or {}) for name in points), _jig(readings), np.ones(len(scalars), bool)]
    )
    selection = np.array([_select(reading, points, scalars, state.size) for reading in readings])
    return Network(
        tuple(readings),
        points,
        scalars,
        state,
        free,
        selection.reshape(-1, 3, state.size),
        grouped([MEASURE_OF[reading.kind] for reading in readings]),
        np.array([reading.kind is not ReadingKind.SCALAR for reading in readings], dtype=bool),
        np.array([MEASURE_OF[reading.kind] in ANGLES for reading in readings], dtype=bool),
        pitch_deg,
        np.array([reading.value for reading in readings]),
        np.array([reading.sigma for reading in readings]),
    )


def _three(xyz: Sequence[float]) -> tuple[float, float, float]:
    x, y, z = [*map(float, xyz), 0.0][:3]
    return x, y, z


def _points_of(readings: Sequence[Reading], known: Mapping[PointName, Sequence[float]]) -> tuple[PointName, ...]:
    named = {PointName.BOTTOM_BRACKET, *known}
    for reading in readings:
        named.update(side for point in reading.points for side in MIDDLES.get(point, (point,)))
        if reading.kind is ReadingKind.HEIGHT:
            named.add(PointName.FLOOR)
    return tuple(name for name in PointName if name in named)


def _free_axes(name: PointName, known: Mapping[PointName, Sequence[float]]) -> NDArray[np.bool_]:
    fixed = name in known or name is PointName.BOTTOM_BRACKET
    along = not fixed and name is not PointName.FLOOR
    return np.array([along, not fixed, not fixed and name in SIDED])


def _jig(readings: Sequence[Reading]) -> NDArray[np.bool_]:
    kinds = {r.kind for r in readings if r.points == (PointName.BOTTOM_BRACKET,)}
    axes = (ReadingKind.COORDINATE_X, ReadingKind.COORDINATE_Y, ReadingKind.COORDINATE_Z)
    return np.array([kind in kinds for kind in axes])


def _select(reading: Reading, points: Sequence[PointName], scalars: Sequence[str], size: int) -> FloatArray:
    rows = np.zeros((3, size))
    if reading.kind is ReadingKind.SCALAR:
        rows[X, 3 * (len(points) + 1) + scalars.index(reading.key)] = 1.0
        return rows
    if reading.kind is ReadingKind.CENTRING:
        for side in reading.points:
            _add(rows, points, side, 0.5)
        return rows
    start, end = _ends(reading)
    _add(rows, points, end, 1.0)
    _add(rows, points, start, -1.0)
    return rows


def _ends(reading: Reading) -> tuple[PointName | None, PointName]:
    if reading.kind is ReadingKind.HEIGHT:
        return PointName.FLOOR, reading.points[0]
    if len(reading.points) == 1:
        return None, reading.points[0]
    return reading.points[0], reading.points[1]


def _add(rows: FloatArray, points: Sequence[PointName], name: PointName | None, sign: float) -> None:
    sides = (name,) if name is None else MIDDLES.get(name, (name,))
    for side in sides:
        column = 3 * (len(points) if side is None else points.index(side))
        for axis in (X, Y, Z):
            rows[axis, column + axis] += sign / len(sides)
