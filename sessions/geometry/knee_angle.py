"""A measured knee angle, which is always either static or pedalling."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from sessions.geometry.changes import is_real
from sessions.geometry.errors import MeasureError
from sessions.geometry.limits import Limits, check_limits, check_sigma

FLEXION_LIMITS = Limits(0.0, 150.0, "deg", "A straight knee is 0°.")


class KneeState(StrEnum):
    """Whether the rider stood still on the pedal or pedalled."""

    STATIC = "static"
    PEDALLING = "pedalling"


class MixedKneeStatesError(MeasureError):
    """A static and a pedalling angle, which cannot be compared."""


# Smallest change that one tester's instrument shows to be real [deg].
# Hancock, Hepworth & Wembridge 2018, J Exp Orthop 5:46.
SMALLEST_REAL_DEG: Mapping[str, float] = {"inclinometer": 6.0, "goniometer": 10.0}


@dataclass(frozen=True, slots=True)
class KneeAngle:
    """Knee flexion as measured.

    Parameters
    ----------
    flexion_deg, sigma_deg : float
        [deg]
    state : KneeState
    instrument : str
        What took it.

    Raises
    ------
    NotANumberError, OutOfLimitsError, BadSigmaError
        If a value is implausible.
    """

    flexion_deg: float
    sigma_deg: float
    state: KneeState
    instrument: str

    def __post_init__(self) -> None:
        check_limits("Knee flexion", self.flexion_deg, FLEXION_LIMITS, key="knee_flexion")
        check_sigma("Knee flexion", self.sigma_deg, key="knee_flexion")


def knee_change(before: KneeAngle, after: KneeAngle) -> tuple[float, float, bool]:
    """Return the change, its one-sigma uncertainty [deg] and whether it is real.

    Raises
    ------
    MixedKneeStatesError
        If one was taken standing still and the other pedalling.

    Examples
    --------
    >>> still = [KneeAngle(value, 3.0, KneeState.STATIC, "goniometer") for value in (35.0, 29.0)]
    >>> change, sigma, real = knee_change(*still)
    >>> change, round(sigma, 1), real
    (-6.0, 4.2, False)
    """
    if before.state is not after.state:
        sentence = "One knee angle was taken standing still and the other pedalling: they cannot be compared."
        raise MixedKneeStatesError(sentence, value=(before.state, after.state), key="knee_flexion")
    delta = after.flexion_deg - before.flexion_deg
    sigma = math.hypot(before.sigma_deg, after.sigma_deg)
    return delta, sigma, is_real(delta, sigma)
