"""How well each reading agrees with the others, and how far the others can tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sessions.geometry.frame import FloatArray
from sessions.tape.readings import Instrument, Reading

# Two-sided 0.1 % point of the normal distribution.
CRITICAL = 3.29
LEAST_REDUNDANCY = 0.02
TIE = 0.98


@dataclass(frozen=True, slots=True)
class ReadingQuality:
    """One reading after the adjustment.

    Parameters
    ----------
    reading : Reading
    adjusted : float
        What the reading should have been [its unit].
    residual : float
        Adjusted less read [its unit].
    redundancy : float
        Share of the reading that the others check: 0 not at all, 1 wholly.
    normalised : float or None
        Residual by its own sigma; about normal with mean 0 and sigma 1 where nothing is misread; None where unchecked.
    """

    reading: Reading
    adjusted: float
    residual: float
    redundancy: float
    normalised: float | None

    @property
    def blunder(self) -> float | None:
        """By how much the reading is off, were it the only one misread [its unit]; None where unchecked."""
        return None if self.normalised is None else -self.residual / self.redundancy


def judge(
    readings: Sequence[Reading], adjusted: FloatArray, residuals: FloatArray, redundancy: FloatArray
) -> tuple[ReadingQuality, ...]:
    """Return the quality of each reading.

    Notes
    -----
    w = v / (σ·√r), the normalised residual.
    """
    rows = zip(readings, adjusted.tolist(), residuals.tolist(), redundancy.tolist(), strict=True)
    return tuple(ReadingQuality(reading, a, v, r, _normalised(v, reading.sigma, r)) for reading, a, v, r in rows)


def _normalised(residual: float, sigma: float, redundancy: float) -> float | None:
    return residual / (sigma * math.sqrt(redundancy)) if redundancy >= LEAST_REDUNDANCY else None


def sigma_zero(quality: Sequence[ReadingQuality], dof: int) -> float | None:
    """Return √(Σ(v/σ)² / dof), or None where nothing is checked."""
    if dof <= 0:
        return None
    return math.sqrt(sum((each.residual / each.reading.sigma) ** 2 for each in quality) / dof)


def worst(quality: Sequence[ReadingQuality]) -> float:
    """Return the largest size of a normalised residual, 0 where nothing is checked."""
    return max((abs(each.normalised) for each in quality if each.normalised is not None), default=0.0)


def suspects(quality: Sequence[ReadingQuality]) -> tuple[str, ...]:
    """Return the keys of the readings to take again; several where the readings cannot tell which of them it is."""
    most = worst(quality)
    if most <= CRITICAL:
        return ()
    found = (
        each.reading.key
        for each in quality
        if each.normalised is not None
        and abs(each.normalised) >= TIE * most
        and each.reading.instrument is not Instrument.ASSUMED
    )
    return tuple(dict.fromkeys(found))
