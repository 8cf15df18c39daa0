"""What an adjustment has decided: every point involved, and the directions that no reading fixes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import NDArray

from sessions.geometry.frame import FloatArray, Z
from sessions.geometry.points import MIDDLES, SIDED, PointName
from sessions.geometry.position import Position
from sessions.tape.network import Network

# A point known worse than this is not placed: near-parallel readings fix it in name only.
WORST_SIGMA_MM = 60.0
WORST_SIGMA_DEG = 30.0
UNDECIDED = 1e-6


@dataclass(frozen=True, eq=False, slots=True)
class Estimate:
    """All points of a network with their covariance, placed or not.

    Parameters
    ----------
    position : Position
        Every point that a reading named, and middles of pairs; unplaced ones hold a value that merely fits.
    undecided : numpy.ndarray
        Directions of all coordinates that no reading fixes, shape (3n, k).
    scalar_values : tuple
        Key, value and sigma of each scalar.
    """

    position: Position
    undecided: FloatArray
    scalar_values: tuple[tuple[str, float, float], ...]

    @classmethod
    def of(cls, network: Network, state: FloatArray, covariance: FloatArray, undecided: FloatArray) -> Self:
        """Spread the unknowns of a network out to all its points and their middles."""
        size = state.size
        wide = np.zeros((size, size))
        wide[np.ix_(network.free, network.free)] = covariance
        loose = np.zeros((size, undecided.shape[1]))
        loose[network.free] = undecided
        names, chooser = _chooser(network.points, size)
        xyz = (chooser @ state).reshape(-1, 3)
        position = Position(names, xyz, chooser @ wide @ chooser.T, frozenset(SIDED & set(names)))
        first = 3 * (len(network.points) + 1)
        sigmas = np.sqrt(np.diag(wide))
        scalars = tuple(
            (key, float(state[first + i]), float(sigmas[first + i])) for i, key in enumerate(network.scalars)
        )
        return cls(position, chooser @ loose, scalars)

    def scalars(self) -> dict[str, tuple[float, float]]:
        """Return value and sigma of each scalar by key."""
        return {key: (value, sigma) for key, value, sigma in self.scalar_values}

    def decides(self, gradients: FloatArray) -> NDArray[np.bool_]:
        """Return which functions of the coordinates the readings fix, shape (r,), by their gradients, shape (r, 3n)."""
        sizes = np.linalg.norm(gradients, axis=1)
        loose = np.abs(gradients @ self.undecided).max(axis=1, initial=0.0)
        fixed: NDArray[np.bool_] = (sizes > 0.0) & (loose <= UNDECIDED * sizes)
        return fixed

    def is_placed(self, name: PointName) -> bool:
        """Return whether x and y of a point are fixed, and well enough to be of use."""
        if not self.position.has(name):
            return False
        start = 3 * self.position.row(name)
        loose = self.undecided[start : start + 2]
        return (
            float(np.abs(loose).max(initial=0.0)) <= UNDECIDED
            and max(self.position.sigma_at(name)[:2]) <= WORST_SIGMA_MM
        )

    def has_lateral(self, name: PointName) -> bool:
        """Return whether z of a sided point is fixed."""
        loose = self.undecided[3 * self.position.row(name) + Z]
        return float(np.abs(loose).max(initial=0.0)) <= UNDECIDED and self.position.sigma_at(name)[2] <= WORST_SIGMA_MM


def _chooser(points: tuple[PointName, ...], size: int) -> tuple[tuple[PointName, ...], FloatArray]:
    middles = [middle for middle, sides in MIDDLES.items() if all(side in points for side in sides)]
    rows = np.zeros((len(points) + len(middles), size // 3 + 1))
    rows[: len(points), : len(points)] = np.eye(len(points))
    for row, middle in enumerate(middles, start=len(points)):
        rows[row, [points.index(side) for side in MIDDLES[middle]]] = 0.5
    wide = np.asarray(np.kron(rows, np.eye(3)), dtype=np.float64)
    return (*points, *middles), wide[:, :size]


def placed_position(estimate: Estimate) -> Position:
    """Return the placed points only; those whose z was not read lie in the side plane."""
    whole = estimate.position
    names = tuple(name for name in whole.names if estimate.is_placed(name))
    kept = np.array([3 * whole.row(name) + axis for name in names for axis in range(3)])
    xyz = whole.xyz_mm.ravel()[kept].copy()
    covariance = whole.covariance_mm2[np.ix_(kept, kept)].copy()
    lateral = frozenset(name for name in names if name in SIDED and estimate.has_lateral(name))
    for row, name in enumerate(names):
        if name not in lateral and (name in SIDED or not set(MIDDLES.get(name, ())) & lateral):
            flat = 3 * row + Z
            xyz[flat] = 0.0
            covariance[flat, :] = covariance[:, flat] = 0.0
    return replace(whole, names=names, xyz_mm=xyz.reshape(-1, 3), covariance_mm2=covariance, lateral=lateral)
