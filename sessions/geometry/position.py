"""A position: named points with coordinates and their joint covariance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Self

import numpy as np

from sessions.geometry.errors import BadPositionError, MeasureError, UnknownPointError
from sessions.geometry.frame import FloatArray, pitch_rotation, pitch_rotation_slope
from sessions.geometry.limits import check_number, check_sigma
from sessions.geometry.points import MIDDLES, OTHER_SIDE, POINT_LABELS, SIDED, PointName

POINTING_SIGMA_MM = 1.5


@dataclass(frozen=True, eq=False, slots=True)
class Position:
    """Points of one bike as it stood, in the frame of :mod:`sessions.geometry.frame`.

    Parameters
    ----------
    names : tuple of PointName
        The points held, in the order of the rows.
    xyz_mm : numpy.ndarray
        Coordinates, shape (n, 3) [mm].
    covariance_mm2 : numpy.ndarray
        Joint covariance of all coordinates, shape (3n, 3n), in the order x, y, z of each row [mm²].
    lateral : frozenset of PointName
        The sided points whose z was measured; the others are drawn in the side plane with z = 0.

    Raises
    ------
    BadPositionError
        If shapes do not match, a name comes twice or a value is not finite.
    """

    names: tuple[PointName, ...]
    xyz_mm: FloatArray
    covariance_mm2: FloatArray
    lateral: frozenset[PointName] = frozenset()

    def __post_init__(self) -> None:
        xyz = np.array(self.xyz_mm, dtype=np.float64)
        covariance = np.array(self.covariance_mm2, dtype=np.float64)
        _check_shapes(self.names, xyz, covariance)
        xyz.flags.writeable = False
        covariance.flags.writeable = False
        object.__setattr__(self, "xyz_mm", xyz)
        object.__setattr__(self, "covariance_mm2", covariance)

    def has(self, *names: PointName) -> bool:
        """Return whether all the points are held."""
        return all(name in self.names for name in names)

    def has_lateral(self, name: PointName) -> bool:
        """Return whether the point's z is known: always on the centreline, on the sides only where it was measured."""
        return self.has(name) and (name not in SIDED or name in self.lateral)

    def row(self, name: PointName) -> int:
        """Return the row of a point.

        Raises
        ------
        UnknownPointError
            If the position does not hold the point.
        """
        if name not in self.names:
            raise UnknownPointError(f"The {POINT_LABELS[name]} has not been measured.", value=name, key=name.value)
        return self.names.index(name)

    def at(self, name: PointName) -> tuple[float, float, float]:
        """Return x, y and z of a point [mm]."""
        x, y, z = self.xyz_mm[self.row(name)]
        return float(x), float(y), float(z)

    def covariance_of(self, name: PointName) -> FloatArray:
        """Return the covariance of one point, shape (3, 3) [mm²]."""
        start = 3 * self.row(name)
        return self.covariance_mm2[start : start + 3, start : start + 3]

    def sigma_at(self, name: PointName) -> tuple[float, float, float]:
        """Return the one-sigma uncertainties of x, y and z of a point [mm]."""
        x, y, z = np.sqrt(np.clip(np.diag(self.covariance_of(name)), 0.0, None))
        return float(x), float(y), float(z)

    @classmethod
    def from_coordinates(
        cls,
        coordinates: Mapping[PointName, Sequence[float]],
        *,
        sigma_mm: float = POINTING_SIGMA_MM,
        sigmas_mm: Mapping[PointName, float] | None = None,
    ) -> Self:
        """Build a position from coordinates about the bottom bracket, with middles of complete pairs added.

        Parameters
        ----------
        coordinates : mapping
            Point to (x, y) or (x, y, z) [mm]. Sided points given without z stay in the side plane.
        sigma_mm : float
            Uncertainty of each coordinate [mm].
        sigmas_mm : mapping, optional
            Uncertainty of single points where it differs [mm].

        Examples
        --------
        >>> p = Position.from_coordinates({PointName.SADDLE_DATUM: (-190.0, 705.0)})
        >>> p.at(PointName.SADDLE_DATUM)
        (-190.0, 705.0, 0.0)
        """
        given = {PointName.BOTTOM_BRACKET: (0.0, 0.0, 0.0), **coordinates}
        rows, variances = [], []
        for name, values in given.items():
            rows.append(_three(name, values))
            sigma = (sigmas_mm or {}).get(name, sigma_mm)
            variances.append(_variances(name, values, sigma) if name in coordinates else np.zeros(3))
        lateral = frozenset(name for name, values in given.items() if name in SIDED and len(values) == 3)
        plain = cls(tuple(given), np.array(rows), np.diag(np.concatenate(variances)), lateral)
        return plain.with_middles()

    def with_middles(self) -> Self:
        """Return the position with the middle of each complete pair added."""
        missing = [name for name, pair in MIDDLES.items() if self.has(*pair) and not self.has(name)]
        if not missing:
            return self
        size = len(self.names)
        chooser = np.vstack([np.eye(size), np.zeros((len(missing), size))])
        for row, middle in enumerate(missing, start=size):
            chooser[row, [self.row(side) for side in MIDDLES[middle]]] = 0.5
        wide = np.kron(chooser, np.eye(3))
        covariance = wide @ self.covariance_mm2 @ wide.T
        return replace(self, names=(*self.names, *missing), xyz_mm=chooser @ self.xyz_mm, covariance_mm2=covariance)

    def turned_back(self, pitch_deg: float, pitch_sigma_deg: float = 0.0) -> Self:
        """Return the position of the level bike, from one measured plumb while it stood at a pitch.

        Parameters
        ----------
        pitch_deg, pitch_sigma_deg : float
            How far the front stood up, and how well that is known [deg].
        """
        rotation = pitch_rotation(pitch_deg)
        wide = np.kron(np.eye(len(self.names)), rotation.T)
        slope = (self.xyz_mm @ pitch_rotation_slope(pitch_deg)).ravel()
        covariance = wide @ self.covariance_mm2 @ wide.T + pitch_sigma_deg**2 * np.outer(slope, slope)
        return replace(self, xyz_mm=self.xyz_mm @ rotation, covariance_mm2=covariance)

    def mirrored(self) -> Self:
        """Return the position as seen in a mirror: left becomes right and z changes its sign."""
        names = tuple(OTHER_SIDE.get(name, name) for name in self.names)
        flip = np.tile([1.0, 1.0, -1.0], len(names))
        return replace(
            self,
            names=names,
            xyz_mm=self.xyz_mm * [1.0, 1.0, -1.0],
            covariance_mm2=self.covariance_mm2 * np.outer(flip, flip),
            lateral=frozenset(OTHER_SIDE[name] for name in self.lateral),
        )

    def moved(self, dx_mm: float, dy_mm: float, dz_mm: float = 0.0) -> Self:
        """Return the position with every point, the bottom bracket too, moved alike."""
        return replace(self, xyz_mm=self.xyz_mm + np.array([dx_mm, dy_mm, dz_mm]))

    def to_plain(self) -> dict[str, Any]:
        """Return lists, texts and floats only, for storage; `from_plain` reads them back exactly."""
        return {
            "names": [name.value for name in self.names],
            "xyz_mm": self.xyz_mm.tolist(),
            "covariance_mm2": self.covariance_mm2.tolist(),
            "lateral": sorted(name.value for name in self.lateral),
        }

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """Read back what `to_plain` wrote.

        Raises
        ------
        BadPositionError
            If something is missing or does not fit together.
        """
        try:
            names = tuple(PointName(name) for name in plain["names"])
            lateral = frozenset(PointName(name) for name in plain["lateral"])
            xyz = np.array(plain["xyz_mm"], dtype=np.float64).reshape(-1, 3)
            return cls(names, xyz, np.array(plain["covariance_mm2"], dtype=np.float64), lateral)
        except MeasureError:
            raise
        except (KeyError, TypeError, ValueError) as error:
            raise BadPositionError(f"This is not a stored position: {error}.", value=plain) from error


def _check_shapes(names: tuple[PointName, ...], xyz: FloatArray, covariance: FloatArray) -> None:
    size = len(names)
    if len(set(names)) != size:
        raise BadPositionError("A point comes twice in this position.", value=names)
    if xyz.shape != (size, 3) or covariance.shape != (3 * size, 3 * size):
        raise BadPositionError(
            "The number of coordinates does not match the points.", value=(xyz.shape, covariance.shape)
        )
    if not (np.isfinite(xyz).all() and np.isfinite(covariance).all()):
        raise BadPositionError("A coordinate of this position is not a number.", value=xyz)


def _three(name: PointName, values: Sequence[float]) -> list[float]:
    if len(values) not in (2, 3):
        raise BadPositionError(
            f"The {POINT_LABELS[name]} needs x and y, and z where it was measured.", value=values, key=name.value
        )
    numbers = [check_number(POINT_LABELS[name].capitalize(), float(value), key=name.value) for value in values]
    return [*numbers, 0.0][:3]


def _variances(name: PointName, values: Sequence[float], sigma_mm: float) -> FloatArray:
    sigma = check_sigma(POINT_LABELS[name].capitalize(), sigma_mm, key=name.value)
    lateral = sigma if name in SIDED and len(values) == 3 else 0.0
    return np.array([sigma, sigma, lateral]) ** 2
