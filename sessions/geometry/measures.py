"""What can be measured between two points, with exact derivatives.

Every dimension and every tape reading is one of these functions of the vector d from a start to an end point,
so that the same formulas serve both.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from sessions.geometry.frame import FloatArray, X, Y, Z


class Measure(StrEnum):
    """A function of the vector d = (x, y, z) from a start to an end point."""

    FORWARD = "forward"  # x
    UP = "up"  # y
    SIDE = "side"  # z
    PLANE_DISTANCE = "plane_distance"  # √(x² + y²)
    DISTANCE = "distance"  # √(x² + y² + z²)
    TILT = "tilt"  # atan2(y, x), nose-up positive
    PLAN_ANGLE = "plan_angle"  # atan2(z, x), seen from above, positive to the right


LATERAL: frozenset[Measure] = frozenset({Measure.SIDE, Measure.DISTANCE, Measure.PLAN_ANGLE})
ANGLES: frozenset[Measure] = frozenset({Measure.TILT, Measure.PLAN_ANGLE})

Rows = tuple[FloatArray, FloatArray]


def _component(axis: int) -> Callable[[FloatArray], Rows]:
    def component(d: FloatArray) -> Rows:
        gradient = np.zeros_like(d)
        gradient[:, axis] = 1.0
        return d[:, axis].copy(), gradient

    return component


def _length(axes: Sequence[int]) -> Callable[[FloatArray], Rows]:
    def length(d: FloatArray) -> Rows:
        value = np.sqrt((d[:, axes] ** 2).sum(axis=1))
        gradient = np.zeros_like(d)
        gradient[:, axes] = d[:, axes] / np.where(value > 0.0, value, 1.0)[:, None]
        return value, gradient

    return length


def _angle(rise: int) -> Callable[[FloatArray], Rows]:
    def angle(d: FloatArray) -> Rows:
        square = d[:, X] ** 2 + d[:, rise] ** 2
        safe = np.where(square > 0.0, square, np.inf)
        gradient = np.zeros_like(d)
        gradient[:, X] = np.degrees(-d[:, rise] / safe)
        gradient[:, rise] = np.degrees(d[:, X] / safe)
        return np.degrees(np.arctan2(d[:, rise], d[:, X])), gradient

    return angle


_FORMULAS: Mapping[Measure, Callable[[FloatArray], Rows]] = {
    Measure.FORWARD: _component(X),
    Measure.UP: _component(Y),
    Measure.SIDE: _component(Z),
    Measure.PLANE_DISTANCE: _length([X, Y]),
    Measure.DISTANCE: _length([X, Y, Z]),
    Measure.TILT: _angle(Y),
    Measure.PLAN_ANGLE: _angle(Z),
}


Groups = tuple[tuple[Measure, NDArray[np.intp]], ...]


def grouped(measures: Sequence[Measure]) -> Groups:
    """Return which rows hold which measure, once for many evaluations by `measured`."""
    rows: dict[Measure, list[int]] = {}
    for row, measure in enumerate(measures):
        rows.setdefault(measure, []).append(row)
    return tuple((measure, np.array(chosen, dtype=np.intp)) for measure, chosen in rows.items())


def measured(groups: Groups, vectors_mm: FloatArray) -> Rows:
    """Evaluate measures and their gradients.

    Parameters
    ----------
    groups : tuple
        Which of the m rows hold which measure, from `grouped`.
    vectors_mm : numpy.ndarray
        Vectors from start to end, shape (m, 3) [mm].

    Returns
    -------
    values : numpy.ndarray
        Shape (m,) [mm or deg].
    gradients : numpy.ndarray
        Derivatives by the vector, shape (m, 3) [1 or deg/mm]; zero where a length or angle of a zero vector has none.

    Examples
    --------
    >>> groups = grouped([Measure.PLANE_DISTANCE, Measure.TILT])
    >>> values, _ = measured(groups, np.array([[3.0, 4.0, 9.0], [1.0, 1.0, 0.0]]))
    >>> values.tolist()
    [5.0, 45.0]
    """
    values, gradients = np.zeros(len(vectors_mm)), np.zeros((len(vectors_mm), 3))
    for measure, rows in groups:
        values[rows], gradients[rows] = _FORMULAS[measure](vectors_mm[rows])
    return values, gradients


def propagated_sigma(gradient: FloatArray, covariance: FloatArray) -> float:
    """Return the one-sigma uncertainty of a function of correlated values.

    Notes
    -----
    u² = g·C·gᵀ, the law of propagation for correlated inputs.

    References
    ----------
    JCGM 100:2008 (GUM), 5.2.2, equation (13).

    Examples
    --------
    >>> propagated_sigma(np.array([1.0, -1.0]), np.diag([9.0, 16.0]))
    5.0
    """
    return float(np.sqrt(max(float(gradient @ covariance @ gradient), 0.0)))
