"""The leg at full stretch: static, crank in line with the seat tube, ankle held."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sessions.geometry.errors import ImpossibleTriangleError
from sessions.geometry.frame import FloatArray
from sessions.geometry.leg import STATIC_HELD_ANKLE, hip_ankle_mm
from sessions.geometry.limits import Limits, check_limits
from sessions.geometry.measures import propagated_sigma
from sessions.geometry.segments import Segments

CRANK_LIMITS = Limits(100.0, 220.0)
SEAT_ANGLE_LIMITS = Limits(60.0, 90.0, "deg")
FOOT_LIMITS = Limits(-45.0, 30.0, "deg", "Toes up is positive.")
COVER = 1.96
ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class Stance:
    """How the rider sits and stands on the pedal; the parts that nobody measured are assumptions, each with its spread.

    Parameters
    ----------
    crank_mm : float
        [mm]
    seat_angle_deg : float
        Effective seat angle, bottom bracket to saddle datum [deg].
    foot_deg, foot_sigma_deg : float
        Angle of the sole, toes up positive [deg]. Assumed: toes a little down; common practice, no source.
    stack_mm : float
        Sole, cleat and pedal between foot and axle [mm]. Common practice, no source.
    sag_mm, sag_sigma_mm : float
        How far the hip sits lower on the saddle than standing over it, tissue and saddle together [mm]. Assumed, no source.
    ankle_back_share, back_sigma_mm : float
        Ankle behind the pedal axle as a share of foot length, from memory, and its spread [mm].
    """

    crank_mm: float = 172.5
    seat_angle_deg: float = 73.0
    foot_deg: float = -15.0
    foot_sigma_deg: float = 5.0
    stack_mm: float = 25.0
    sag_mm: float = 20.0
    sag_sigma_mm: float = 10.0
    ankle_back_share: float = 0.52
    back_sigma_mm: float = 10.0

    def __post_init__(self) -> None:
        check_limits("Crank length", self.crank_mm, CRANK_LIMITS, key="crank_length")
        check_limits("Seat angle", self.seat_angle_deg, SEAT_ANGLE_LIMITS, key="seat_angle")
        check_limits("Foot angle", self.foot_deg, FOOT_LIMITS, key="foot_angle")

    @property
    def along(self) -> FloatArray:
        """Direction from the bottom bracket to the saddle, shape (2,)."""
        angle = math.radians(self.seat_angle_deg)
        return np.array([-math.cos(angle), math.sin(angle)])


@dataclass(frozen=True, slots=True)
class Flexion:
    """A knee flexion that a saddle height implies [deg], with the 95 % range that measuring and assumptions leave.

    ``value_deg`` is None where the leg as estimated would not reach; ``reaches`` is False where even the range does not.
    """

    value_deg: float | None
    low_deg: float
    high_deg: float
    reaches: bool
    label: str = STATIC_HELD_ANKLE


@dataclass(frozen=True, eq=False, slots=True)
class Stretch:
    """cos κ at a saddle height, and its derivatives.

    ``by_leg`` is by inseam, thigh, shank and ankle height, shape (4,) [1/mm]; ``by_stance`` by sag, ankle-back and foot angle,
    shape (3,) [1/mm, 1/mm, 1/deg]; ``by_height`` by saddle height [1/mm].
    """

    cosine: float
    by_leg: FloatArray
    by_stance: FloatArray
    by_height: float

    def sigma(self, leg: Segments, stance: Stance, height_per_inseam: float = 0.0) -> float:
        """Return the one-sigma uncertainty of cos κ where the height itself follows the inseam."""
        by_leg = self.by_leg + np.array([self.by_height * height_per_inseam, 0.0, 0.0, 0.0])
        spread = np.diag([stance.sag_sigma_mm, stance.back_sigma_mm, stance.foot_sigma_deg]) ** 2
        return math.hypot(propagated_sigma(by_leg, leg.covariance_mm2), propagated_sigma(self.by_stance, spread))


def _ankle(leg: Segments, stance: Stance) -> tuple[FloatArray, FloatArray]:
    # The ankle, and its derivatives by ankle height, ankle-back and foot angle (columns).
    foot = math.radians(stance.foot_deg)
    turn = np.array([[math.cos(foot), -math.sin(foot)], [math.sin(foot), math.cos(foot)]])
    arm = np.array([-stance.ankle_back_share * leg.foot_length_mm, leg.ankle_height_mm + stance.stack_mm])
    slope = turn @ np.array([-arm[1], arm[0]]) * math.radians(1.0)
    derivatives = np.column_stack([turn @ [0.0, 1.0], turn @ [-1.0, 0.0], slope])
    return turn @ arm - stance.crank_mm * stance.along, derivatives


def _hip(leg: Segments, stance: Stance, height_mm: float) -> FloatArray:
    lift = np.array([0.0, leg.hip_above_inseam_mm - stance.sag_mm])
    hip: FloatArray = height_mm * stance.along + lift
    return hip


def stretch(leg: Segments, stance: Stance, height_mm: float) -> Stretch:
    """Return cos κ at a saddle height and its exact derivatives.

    Notes
    -----
    With the hip above the saddle by thigh + shank + ankle height − inseam − sag, D from hip to ankle, a thigh and b shank:
    c = cos κ = (D² − a² − b²) / 2ab; ∂c/∂D = D/ab, ∂c/∂a = −1/b − c/a, ∂c/∂b = −1/a − c/b.
    """
    a, b = leg.thigh_mm, leg.shank_mm
    ankle, ankle_by = _ankle(leg, stance)
    line = _hip(leg, stance, height_mm) - ankle
    distance = float(np.hypot(*line))
    toward = line / distance
    cosine = (distance**2 - a * a - b * b) / (2.0 * a * b)
    by_distance = distance / (a * b)
    up = by_distance * toward[1]
    by_ankle = -by_distance * (toward @ ankle_by)
    by_leg = np.array([-up, up - 1.0 / b - cosine / a, up - 1.0 / a - cosine / b, up + by_ankle[0]])
    by_stance = np.array([-up, by_ankle[1], by_ankle[2]])
    return Stretch(cosine, by_leg, by_stance, float(by_distance * (toward @ stance.along)))


def flexion_of(cosine: float) -> float:
    """Return the angle of a cosine [deg], 0° where it would be more than straight."""
    return math.degrees(math.acos(min(1.0, max(-1.0, cosine))))


def implied_flexion(leg: Segments, stance: Stance, height_mm: float, height_per_inseam: float = 0.0) -> Flexion:
    """Return the static knee flexion that a saddle height implies for this rider.

    Parameters
    ----------
    leg : Segments
    stance : Stance
    height_mm : float
        Bottom bracket to saddle top [mm].
    height_per_inseam : float
        Derivative of the height by the inseam where a rule made it.

    Examples
    --------
    >>> from sessions.geometry.segments import segments
    >>> found = implied_flexion(segments(825.0), Stance(), 1.09 * 825.0 - 172.5)
    >>> round(found.value_deg)
    29
    """
    at = stretch(leg, stance, height_mm)
    spread = COVER * at.sigma(leg, stance, height_per_inseam)
    value = flexion_of(at.cosine) if at.cosine <= 1.0 + ROUNDING else None
    return Flexion(value, flexion_of(at.cosine + spread), flexion_of(at.cosine - spread), at.cosine - spread <= 1.0)


def height_at_flexion_mm(leg: Segments, stance: Stance, flexion_deg: float) -> float:
    """Return the saddle height at which the knee is bent by so much, static [mm].

    Raises
    ------
    ImpossibleTriangleError
        If no height of this seat angle gives it.

    Examples
    --------
    >>> from sessions.geometry.segments import segments
    >>> leg, stance = segments(825.0), Stance()
    >>> round(implied_flexion(leg, stance, height_at_flexion_mm(leg, stance, 30.0)).value_deg, 9)
    30.0
    """
    wanted = hip_ankle_mm(leg.thigh_mm, leg.shank_mm, flexion_deg)
    ankle, _ = _ankle(leg, stance)
    offset = _hip(leg, stance, 0.0) - ankle
    # |offset + h·along|² = wanted², the upper of both solutions.
    half = float(offset @ stance.along)
    under = half**2 - float(offset @ offset) + wanted**2
    if under < 0 or math.sqrt(under) <= half:
        raise ImpossibleTriangleError("No saddle height gives this knee flexion.", value=flexion_deg)
    return math.sqrt(under) - half
