"""Weighted least squares for one linear step, with what it cannot decide."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sessions.geometry.frame import FloatArray

# A direction that the readings fix worse than to a hundred metres is not fixed at all.
LEAST_SINGULAR = 1e-5


@dataclass(frozen=True, eq=False, slots=True)
class LinearSolution:
    """The estimate of a linear adjustment.

    Parameters
    ----------
    estimate : numpy.ndarray
        Unknowns, shape (n,); of all that fit equally well, the one closest to zero.
    covariance : numpy.ndarray
        From the readings' own sigmas, shape (n, n); zero along undecided directions.
    undecided : numpy.ndarray
        Orthonormal directions that no reading fixes, shape (n, k).
    redundancy : numpy.ndarray
        Share of each reading that the others check, 0 to 1, shape (m,).
    gain : numpy.ndarray
        Derivative of the estimate by the readings, shape (n, m).
    """

    estimate: FloatArray
    covariance: FloatArray
    undecided: FloatArray
    redundancy: FloatArray
    gain: FloatArray


def adjust_linear(design: FloatArray, observed: FloatArray, sigma: FloatArray) -> LinearSolution:
    """Solve ``design @ x = observed`` by weighted least squares.

    Parameters
    ----------
    design : numpy.ndarray
        Shape (m, n).
    observed, sigma : numpy.ndarray
        Readings and their one-sigma uncertainties, shape (m,).

    Notes
    -----
    With the weighted design W^½A = U·S·Vᵀ: x = V·S⁻¹·Uᵀ·W^½·l, covariance V·S⁻²·Vᵀ, redundancy numbers 1 − diag(U·Uᵀ).

    References
    ----------
    JCGM 100:2008 (GUM), annex H.3, for the line; F. Krumm, *Geodetic Network Adjustment Examples*, University of Stuttgart 2020,
    for networks of distances.

    Examples
    --------
    >>> line = adjust_linear(np.array([[1.0], [1.0]]), np.array([9.0, 11.0]), np.array([1.0, 1.0]))
    >>> line.estimate.round(6).tolist(), line.redundancy.round(6).tolist()
    ([10.0], [0.5, 0.5])
    """
    weighted = design / sigma[:, None]
    u, s, vt = np.linalg.svd(weighted, full_matrices=True)
    rank = int((s > max(LEAST_SINGULAR, 1e-12 * s.max(initial=0.0))).sum())
    u, s, v = u[:, :rank], s[:rank], vt.T
    inverse = v[:, :rank] / s
    gain = inverse @ u.T / sigma
    redundancy = np.clip(1.0 - (u**2).sum(axis=1), 0.0, 1.0)
    return LinearSolution(gain @ observed, inverse @ inverse.T, v[:, rank:], redundancy, gain)
