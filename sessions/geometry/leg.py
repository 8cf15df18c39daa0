"""The knee as a triangle of thigh, shank and hip-to-ankle distance; static, held ankle.

A rider who pedals lets ankle and pelvis give way: measured riders show only about 34 to 43 % of the change of knee angle that
this triangle says (derived from Ferrer-Roca et al. 2014, J Strength Cond Res 28(3):784–791). Nothing here predicts pedalling.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from sessions.geometry.errors import ImpossibleTriangleError
from sessions.geometry.limits import check_number

STATIC_HELD_ANKLE: Final = "static, held ankle"
PEDALLING_SHARE: Final = (0.34, 0.43)


@dataclass(frozen=True, slots=True)
class HeldAnkle:
    """What a change of saddle height does to the knee while the ankle is held: never a prediction of pedalling."""

    deg_per_mm: float
    mm_per_deg: float
    label: str = STATIC_HELD_ANKLE


def check_triangle(thigh_mm: float, shank_mm: float, hip_ankle_mm: float) -> None:
    """Refuse three lengths that close no triangle.

    Raises
    ------
    NotANumberError
        If one is not a finite number.
    ImpossibleTriangleError
        If one is not positive, or the distance is longer than both segments together or shorter than their difference.
    """
    lengths = (("Thigh", thigh_mm), ("Shank", shank_mm), ("Hip to ankle", hip_ankle_mm))
    for what, value in lengths:
        if check_number(what, value) <= 0:
            raise ImpossibleTriangleError(f"{what}: a length must be more than zero.", value=value)
    if hip_ankle_mm > thigh_mm + shank_mm:
        short = hip_ankle_mm - thigh_mm - shank_mm
        raise ImpossibleTriangleError(
            f"Thigh and shank together are {math.ceil(short)} mm too short for this hip-to-ankle distance.",
            value=hip_ankle_mm,
        )
    if hip_ankle_mm < abs(thigh_mm - shank_mm):
        raise ImpossibleTriangleError(
            "Hip and ankle are closer together than thigh and shank can fold.", value=hip_ankle_mm
        )


def can_bend(thigh_mm: float, shank_mm: float, hip_ankle_mm: float) -> bool:
    """Return whether the three lengths close a triangle."""
    try:
        check_triangle(thigh_mm, shank_mm, hip_ankle_mm)
    except ValueError:
        return False
    return True


def knee_flexion_deg(thigh_mm: float, shank_mm: float, hip_ankle_mm: float) -> float:
    """Return the knee flexion: 0° straight, growing as the knee bends.

    Parameters
    ----------
    thigh_mm, shank_mm, hip_ankle_mm : float
        Joint to joint [mm].

    Raises
    ------
    NotANumberError, ImpossibleTriangleError
        As `check_triangle`.

    Notes
    -----
    κ = 180° − arccos((a² + b² − d²) / 2ab), computed as κ = 2·atan2(√((a+b)² − d²), √(d² − (a−b)²)), which stays exact near a
    straight leg.

    Examples
    --------
    >>> round(knee_flexion_deg(400.0, 300.0, 500.0), 9)
    90.0
    """
    check_triangle(thigh_mm, shank_mm, hip_ankle_mm)
    total, difference = thigh_mm + shank_mm, thigh_mm - shank_mm
    slack = math.sqrt((total - hip_ankle_mm) * (total + hip_ankle_mm))
    fold = math.sqrt((hip_ankle_mm - difference) * (hip_ankle_mm + difference))
    return math.degrees(2.0 * math.atan2(slack, fold))


def hip_ankle_mm(thigh_mm: float, shank_mm: float, flexion_deg: float) -> float:
    """Return the hip-to-ankle distance at a knee flexion [mm].

    Notes
    -----
    d² = a² + b² + 2ab·cos κ.

    Raises
    ------
    NotANumberError, ImpossibleTriangleError
        If a segment is not positive or the flexion is not within 0–180°.

    Examples
    --------
    >>> hip_ankle_mm(400.0, 300.0, 90.0)
    500.0
    """
    if not 0.0 <= check_number("Knee flexion", flexion_deg) <= 180.0:
        raise ImpossibleTriangleError("Knee flexion lies between 0° and 180°.", value=flexion_deg)
    check_triangle(thigh_mm, shank_mm, thigh_mm + shank_mm)
    half = math.radians(flexion_deg) / 2.0
    return math.hypot((thigh_mm + shank_mm) * math.cos(half), (thigh_mm - shank_mm) * math.sin(half))


def held_ankle(thigh_mm: float, shank_mm: float, flexion_deg: float, *, along: float = 1.0) -> HeldAnkle:
    """Return how saddle height and knee flexion go together while the ankle is held.

    Parameters
    ----------
    thigh_mm, shank_mm : float
        [mm]
    flexion_deg : float
        Where the derivative is taken [deg]; more than 0, less than 180.
    along : float
        Cosine of the angle between the saddle's movement and the line from hip to ankle, above 0 up to 1.

    Returns
    -------
    HeldAnkle
        Size of the change; flexion falls as the saddle rises.

    Raises
    ------
    NotANumberError, ImpossibleTriangleError
        At a straight or folded knee, where the derivative has no finite value, or for an impossible ``along``.

    Notes
    -----
    dd/dκ = ab·sin κ / d, per radian.

    Examples
    --------
    >>> change = held_ankle(409.3, 418.8, 30.0)
    >>> round(change.mm_per_deg, 2), round(change.deg_per_mm, 2), change.label
    (1.87, 0.53, 'static, held ankle')
    """
    distance = hip_ankle_mm(thigh_mm, shank_mm, flexion_deg)
    slope = math.radians(thigh_mm * shank_mm * math.sin(math.radians(flexion_deg)) / distance) if distance else 0.0
    if slope <= 1e-9:
        raise ImpossibleTriangleError("At a straight or folded knee a millimetre has no angle.", value=flexion_deg)
    if not 0.0 < check_number("Direction", along) <= 1.0:
        raise ImpossibleTriangleError("The saddle must move towards or away from the ankle.", value=along)
    return HeldAnkle(along / slope, slope / along)


def flexion_after_change_deg(
    thigh_mm: float, shank_mm: float, flexion_deg: float, rise_mm: float, *, along: float = 1.0
) -> float:
    """Return the static knee flexion after the saddle moved, the ankle held [deg].

    Parameters
    ----------
    flexion_deg : float
        Static flexion before, measured at the same pedal position [deg].
    rise_mm : float
        How far the saddle went up [mm]; negative for down.
    along : float
        As in `held_ankle`.

    Raises
    ------
    NotANumberError, ImpossibleTriangleError
        If the leg would not reach.

    Examples
    --------
    >>> round(flexion_after_change_deg(409.3, 418.8, 30.0, 10.0), 1)
    24.1
    """
    moved = hip_ankle_mm(thigh_mm, shank_mm, flexion_deg) + check_number("Change", rise_mm) * along
    return knee_flexion_deg(thigh_mm, shank_mm, moved)
