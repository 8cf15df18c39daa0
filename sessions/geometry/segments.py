"""Thigh, shank and ankle height from the inseam, with the honest spread where they were not measured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sessions.geometry.body import check_body
from sessions.geometry.frame import FloatArray

# Linear regressions on crotch height C, both sexes pooled as sampled (4082 men, 1986 women), computed from the public data of
# the 2012 US Army Anthropometric Survey, Gordon et al. 2014, NATICK/TR-15/007: constant [mm], slope, and the covariance of what
# the inseam does not explain [mm²] (residual SD 18.5, 12.7 and 5.9 mm). Order: thigh, shank, ankle height.
PARTS = ("thigh", "shank", "ankle_height")
CONSTANT = np.array([34.96, 71.10, 5.02])
SLOPE = np.array([0.4418, 0.4152, 0.0782])
RESIDUAL = np.array([[343.7, -69.6, 0.7], [-69.6, 162.4, -32.3], [0.7, -32.3, 34.5]])
FOOT = (53.68, 0.2537, 10.46)

# Between two takes of the same landmark: common practice, no source.
INSEAM_SIGMA_MM = 5.0
SEGMENT_SIGMA_MM = 7.0


@dataclass(frozen=True, eq=False, slots=True)
class Segments:
    """A rider's leg.

    Parameters
    ----------
    inseam_mm, thigh_mm, shank_mm, ankle_height_mm, foot_length_mm : float
        [mm]
    covariance_mm2 : numpy.ndarray
        Of inseam, thigh, shank and ankle height, shape (4, 4) [mm²].
    foot_sigma_mm : float
        [mm]
    estimated : frozenset of str
        Which of them were estimated from the inseam, not measured.
    """

    inseam_mm: float
    thigh_mm: float
    shank_mm: float
    ankle_height_mm: float
    foot_length_mm: float
    covariance_mm2: FloatArray
    foot_sigma_mm: float
    estimated: frozenset[str]

    @property
    def hip_above_inseam_mm(self) -> float:
        """Height of the hip over the crotch while standing: the leg's parts less the inseam [mm]."""
        return self.thigh_mm + self.shank_mm + self.ankle_height_mm - self.inseam_mm

    def sigma_of(self, part: str) -> float:
        """Return the one-sigma uncertainty of ``inseam``, ``thigh``, ``shank`` or ``ankle_height`` [mm]."""
        index = ("inseam", *PARTS).index(part)
        return float(np.sqrt(self.covariance_mm2[index, index]))


def segments(
    inseam_mm: float,
    *,
    thigh_mm: float | None = None,
    shank_mm: float | None = None,
    ankle_height_mm: float | None = None,
    foot_length_mm: float | None = None,
    inseam_sigma_mm: float = INSEAM_SIGMA_MM,
    segment_sigma_mm: float = SEGMENT_SIGMA_MM,
) -> Segments:
    """Return a rider's leg, estimating from the inseam what was not measured.

    Parameters
    ----------
    inseam_mm : float
        Floor to crotch without shoes [mm].
    thigh_mm, shank_mm, ankle_height_mm, foot_length_mm : float, optional
        Measured parts [mm].
    inseam_sigma_mm, segment_sigma_mm : float
        How well inseam and parts are measured [mm].

    Raises
    ------
    NotANumberError, OutOfLimitsError
        If a measure is implausible.

    Notes
    -----
    What is estimated follows the survey's regression on the inseam; a measured part also sharpens the estimate of the others
    through the covariance of the residuals (a long thigh for the inseam goes with a short shank). The survey's segments run
    between skin landmarks, not joint centres.

    Examples
    --------
    >>> leg = segments(825.0)
    >>> round(leg.thigh_mm), round(leg.shank_mm), round(leg.sigma_of("thigh"), 1), sorted(leg.estimated)
    (399, 414, 18.7, ['ankle_height', 'foot_length', 'shank', 'thigh'])
    """
    inseam = check_body("inseam", inseam_mm)
    given = dict(zip(PARTS, (thigh_mm, shank_mm, ankle_height_mm), strict=True))
    values, slopes, spread = _conditioned(inseam, [given[part] for part in PARTS], segment_sigma_mm)
    covariance = np.zeros((4, 4))
    covariance[1:, 1:] = spread
    direction = np.array([1.0, *slopes]) * inseam_sigma_mm
    covariance += np.outer(direction, direction)
    foot, foot_sigma = _foot(inseam, foot_length_mm)
    estimated = {part for part, value in given.items() if value is None} | (
        {"foot_length"} if foot_length_mm is None else set()
    )
    thigh, shank, ankle = (float(value) for value in values)
    return Segments(inseam, thigh, shank, ankle, foot, covariance, foot_sigma, frozenset(estimated))


def _conditioned(inseam: float, given: list[float | None], sigma: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    values, slopes, spread = CONSTANT + SLOPE * inseam, SLOPE.copy(), RESIDUAL.copy()
    known = [i for i, value in enumerate(given) if value is not None]
    rest = [i for i, value in enumerate(given) if value is None]
    if not known:
        return values, slopes, spread
    measured = np.array([check_body(PARTS[i], float(given[i] or 0.0)) for i in known])
    gain = RESIDUAL[np.ix_(rest, known)] @ np.linalg.inv(RESIDUAL[np.ix_(known, known)])
    values[rest] += gain @ (measured - values[known])
    slopes[rest] -= gain @ SLOPE[known]
    noise = sigma**2 * np.eye(len(known))
    left = RESIDUAL[np.ix_(rest, rest)] - gain @ RESIDUAL[np.ix_(known, rest)]
    spread[np.ix_(rest, rest)] = left + gain @ noise @ gain.T
    spread[np.ix_(rest, known)] = gain @ noise
    spread[np.ix_(known, rest)] = noise @ gain.T
    spread[np.ix_(known, known)] = noise
    values[known], slopes[known] = measured, 0.0
    return values, slopes, spread


def _foot(inseam: float, foot_length_mm: float | None) -> tuple[float, float]:
    constant, slope, spread = FOOT
    if foot_length_mm is None:
        return constant + slope * inseam, spread
    return check_body("foot_length", foot_length_mm), SEGMENT_SIGMA_MM
