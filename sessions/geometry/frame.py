"""The frame that every figure is given in, and the pitch of a bike on the trainer.

Origin at the centre of the bottom bracket axle; x forward, y up, z to the rider's right; millimetres and degrees;
tilt and pitch are positive nose-up. The ground is the line through both tyre contacts.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

X, Y, Z = 0, 1, 2
LEVEL_SIGMA_DEG = 0.2
PITCH_LIMIT_DEG = 15.0


def pitch_rotation(pitch_deg: float) -> FloatArray:
    """Return the rotation from the bike's own frame to the plumb frame of the room.

    Parameters
    ----------
    pitch_deg : float
        How far the front of the bike stands up [deg].

    Returns
    -------
    numpy.ndarray
        Rotation matrix, shape (3, 3): ``room = R @ bike``.

    Examples
    --------
    >>> pitch_rotation(90.0).round(6) @ [1.0, 0.0, 0.0]
    array([0., 1., 0.])
    """
    cos, sin = math.cos(math.radians(pitch_deg)), math.sin(math.radians(pitch_deg))
    return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])


def pitch_rotation_slope(pitch_deg: float) -> FloatArray:
    """Return the derivative of `pitch_rotation` per degree of pitch, shape (3, 3)."""
    cos, sin = math.cos(math.radians(pitch_deg)), math.sin(math.radians(pitch_deg))
    return np.array([[-sin, -cos, 0.0], [cos, -sin, 0.0], [0.0, 0.0, 0.0]]) * math.radians(1.0)


def turned_back(xyz_mm: FloatArray, pitch_deg: float) -> FloatArray:
    """Rotate points measured plumb in the room back to the level bike.

    Parameters
    ----------
    xyz_mm : numpy.ndarray
        Points about the bottom bracket, shape (n, 3) [mm].
    pitch_deg : float
        How far the front of the bike stood up [deg].
    """
    return np.asarray(xyz_mm, dtype=np.float64) @ pitch_rotation(pitch_deg)
