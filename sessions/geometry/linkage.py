"""The leg over a whole turn of the crank, as a planar linkage with the foot's angle given."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from sessions.geometry.errors import ImpossibleTriangleError
from sessions.geometry.frame import FloatArray
from sessions.geometry.limits import check_number

STEPS = 72


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg on its pedal.

    Parameters
    ----------
    thigh_mm, shank_mm : float
        Hip to knee and knee to ankle joint [mm].
    ankle_up_mm : float
        Ankle joint above the pedal axle while the sole is level: ankle height, sole, cleat and pedal stack together [mm].
    ankle_back_mm : float
        Ankle joint behind the pedal axle while the sole is level [mm].
    """

    thigh_mm: float
    shank_mm: float
    ankle_up_mm: float
    ankle_back_mm: float

    def on_stack(self, extra_mm: float) -> Self:
        """Return the leg with more (or, where a pedal is worn, less) stack between foot and axle."""
        return replace(self, ankle_up_mm=self.ankle_up_mm + extra_mm)


@dataclass(frozen=True, eq=False, slots=True)
class Revolution:
    """One turn: crank angle from the top, forwards [deg], and knee flexion at each [deg], both of shape (steps,).

    ``ankle_mm`` has shape (steps, 2).
    """

    crank_deg: FloatArray
    knee_flexion_deg: FloatArray
    ankle_mm: FloatArray

    @property
    def least(self) -> tuple[float, float]:
        """Crank angle and flexion where the knee is straightest [deg]."""
        return self._at(int(self.knee_flexion_deg.argmin()))

    @property
    def most(self) -> tuple[float, float]:
        """Crank angle and flexion where the knee is most bent [deg]."""
        return self._at(int(self.knee_flexion_deg.argmax()))

    def _at(self, index: int) -> tuple[float, float]:
        return float(self.crank_deg[index]), float(self.knee_flexion_deg[index])


def crank_revolution(
    leg: Leg,
    hip_mm: tuple[float, float],
    crank_mm: float,
    foot_deg: float | Sequence[float],
    *,
    steps: int = STEPS,
) -> Revolution:
    """Return the knee flexion over a turn of the crank.

    Parameters
    ----------
    leg : Leg
    hip_mm : tuple of float
        x and y of the hip joint about the bottom bracket [mm].
    crank_mm : float
        Crank length [mm].
    foot_deg : float or sequence of float
        Angle of the sole, toes up positive [deg]: one for the whole turn or one per step.
    steps : int
        Crank angles, evenly from the top.

    Raises
    ------
    NotANumberError
        If a value is not a finite number.
    ImpossibleTriangleError
        If the leg cannot reach round the whole turn; it says where and by how much.

    Examples
    --------
    >>> turn = crank_revolution(Leg(410.0, 419.0, 98.0, 137.0), (-211.0, 752.0), 172.5, -20.0)
    >>> [round(each) for each in turn.least]
    [170, 32]
    """
    values = [
        leg.thigh_mm,
        leg.shank_mm,
        leg.ankle_up_mm,
        leg.ankle_back_mm,
        *hip_mm,
        crank_mm,
        *np.atleast_1d(foot_deg),
    ]
    for value in values:
        check_number("Leg", float(value))
    if min(leg.thigh_mm, leg.shank_mm, crank_mm) <= 0:
        raise ImpossibleTriangleError("Leg and crank need lengths above zero.", value=values)
    crank_deg: FloatArray = np.arange(steps, dtype=np.float64) * np.float64(360.0 / steps)
    ankle = _ankles(leg, crank_mm, crank_deg, np.broadcast_to(np.asarray(foot_deg, dtype=np.float64), crank_deg.shape))
    distance = np.hypot(ankle[:, 0] - hip_mm[0], ankle[:, 1] - hip_mm[1])
    _check_reach(leg, crank_deg, distance)
    return Revolution(crank_deg, _flexion(leg, distance), ankle)


def _ankles(leg: Leg, crank_mm: float, crank_deg: FloatArray, foot_deg: FloatArray) -> FloatArray:
    crank, foot = np.radians(crank_deg), np.radians(foot_deg)
    x = crank_mm * np.sin(crank) - leg.ankle_back_mm * np.cos(foot) - leg.ankle_up_mm * np.sin(foot)
    y = crank_mm * np.cos(crank) - leg.ankle_back_mm * np.sin(foot) + leg.ankle_up_mm * np.cos(foot)
    return np.column_stack([x, y])


def _check_reach(leg: Leg, crank_deg: FloatArray, distance: FloatArray) -> None:
    worst = int(distance.argmax())
    short = float(distance[worst]) - leg.thigh_mm - leg.shank_mm
    if short > 0:
        sentence = f"At a crank angle of {crank_deg[worst]:.0f}° this leg is {math.ceil(short)} mm too short to reach the pedal."
        raise ImpossibleTriangleError(sentence, value=float(distance[worst]))
    least = int(distance.argmin())
    if distance[least] < abs(leg.thigh_mm - leg.shank_mm):
        sentence = f"At a crank angle of {crank_deg[least]:.0f}° hip and ankle are closer than this leg can fold."
        raise ImpossibleTriangleError(sentence, value=float(distance[least]))


def _flexion(leg: Leg, distance: FloatArray) -> FloatArray:
    total, difference = leg.thigh_mm + leg.shank_mm, leg.thigh_mm - leg.shank_mm
    slack = np.sqrt((total - distance) * (total + distance))
    fold = np.sqrt((distance - difference) * (distance + difference))
    flexion: FloatArray = np.degrees(2.0 * np.arctan2(slack, fold))
    return flexion
