"""Which points cannot be placed yet, and which reading would complete them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np

from sessions.geometry.frame import FloatArray
from sessions.geometry.points import MIDDLES, POINT_LABELS, PointName
from sessions.geometry.position import Position
from sessions.geometry.recipes import Group
from sessions.tape.adjust import adjust_linear
from sessions.tape.centring import centring
from sessions.tape.common import COMMON, SCALARS
from sessions.tape.estimate import UNDECIDED, WORST_SIGMA_MM
from sessions.tape.network import Network, build_network
from sessions.tape.readings import Reading, ReadingKind

MOST_NAMED = 3
SLANTING = frozenset({ReadingKind.DISTANCE, ReadingKind.SIDE_DISTANCE})
# Advice is worked out where the points are guessed to be, so it must hold with room to spare.
COMFORTABLY = 4.0
LINKING = frozenset({Group.SADDLE, Group.REACH, Group.FRAME})


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A point that was read but cannot be placed.

    ``completing`` lists the readings of the common set any one of which would place it, simplest first; where one is not
    enough it is empty and ``together`` names two that would, if there are such.
    """

    point: PointName
    completing: tuple[str, ...]
    together: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """What is missing, in words."""
        begun = f"The {POINT_LABELS[self.point]} cannot be placed yet"
        if self.completing:
            named = [COMMON[key].label.lower() for key in self.completing[:MOST_NAMED]]
            return f"{begun}: {' or '.join(named)} would complete it."
        if self.together:
            named = [COMMON[key].label.lower() for key in self.together]
            return f"{begun}: it needs two more readings, such as {' and '.join(named)}."
        return f"{begun}: it needs more readings."


@lru_cache(maxsize=1)
def _candidates() -> tuple[Reading, ...]:
    # Only the direction of each counts here, so the middle of its limits will do as a value. Plumb and level readings come
    # first: a slanting tape tells little about a point that lies level with its start.
    found = (
        Reading(c.key, c.kind, c.points, (c.limits.low + c.limits.high) / 2, c.sigma, c.instrument, c.unit, c.label)
        for c in COMMON.values()
        if c.key not in SCALARS
    )
    return tuple(sorted(found, key=lambda each: each.kind in SLANTING))


def unplaced_points(network: Network, state: FloatArray, position: Position) -> tuple[Unplaced, ...]:
    """Return the points that readings name and that are not in the position, with what would complete each."""
    wanted = [point for point in _named(network.readings) if not position.has(point)]
    if not wanted:
        return ()
    search = _Search.over(network, state)
    return tuple(search.unplaced(point) for point in wanted)


def _named(readings: Sequence[Reading]) -> tuple[PointName, ...]:
    named = dict.fromkeys(point for reading in readings for point in reading.points)
    return tuple(point for point in named if not _is_crank_only(point, readings))


def _is_crank_only(point: PointName, readings: Sequence[Reading]) -> bool:
    # The crank turns: its length alone never places the pedal, nor need it.
    keys = {reading.key for reading in readings if point in reading.points}
    return keys == {"crank_length"}


@dataclass(frozen=True, eq=False, slots=True)
class _Search:
    points: tuple[PointName, ...]
    undecided: FloatArray
    rows: dict[str, FloatArray]

    @classmethod
    def over(cls, network: Network, state: FloatArray) -> _Search:
        fresh = [each for each in _candidates() if each.key not in {r.key for r in network.readings}]
        extra = [*fresh, *(each for each in centring(fresh) if each.key not in {r.key for r in network.readings})]
        found = dict(zip(network.points, state[: 3 * len(network.points)].reshape(-1, 3).tolist(), strict=True))
        wide = build_network([*network.readings, *extra], pitch_deg=network.pitch_deg, start=found)
        jacobian = wide.predicted(wide.start)[1]
        free = _as_free(wide, network)
        count = len(network.readings)
        linear = adjust_linear(jacobian[:count][:, free], np.zeros(count), network.sigma)
        undecided = np.zeros((wide.start.size, linear.undecided.shape[1]))
        undecided[free] = linear.undecided
        # In units of each reading's sigma, so that what barely bears on a point does not count as placing it.
        effects = jacobian[count:] @ undecided / wide.sigma[count:, None]
        return cls(wide.points, undecided, _by_key(extra, effects))

    def unplaced(self, point: PointName) -> Unplaced:
        singles = [key for key in self.rows if self._places((key,), point)]
        touching = [key for key in singles if self._touches(key, point)]
        together = () if singles else next(self._pairs(point), ())
        return Unplaced(point, tuple(touching or singles), together)

    def _touches(self, key: str, point: PointName) -> bool:
        return bool(set(_sides(COMMON[key].points)) & set(_sides((point,))))

    def _pairs(self, point: PointName) -> Iterator[tuple[str, ...]]:
        touching = [key for key in self.rows if self._touches(key, point)]
        linking = [key for key in self.rows if COMMON[key].group in LINKING]
        useful = dict.fromkeys([*touching, *linking])
        return (pair for pair in combinations(useful, 2) if self._places(pair, point))

    def _places(self, keys: Iterable[str], point: PointName) -> bool:
        rows = np.vstack([self.rows[key] for key in keys])
        _, s, vt = np.linalg.svd(rows)
        rank = int((s > COMFORTABLY / WORST_SIGMA_MM).sum())
        left = self._of(point) @ vt[rank:].T
        return float(np.abs(left).max(initial=0.0)) <= UNDECIDED

    def _of(self, point: PointName) -> FloatArray:
        sides = _sides((point,))
        starts = [3 * self.points.index(side) for side in sides]
        stacked = np.array([self.undecided[start : start + 2] for start in starts])
        mean: FloatArray = stacked.mean(axis=0)
        return mean


def _sides(points: Iterable[PointName]) -> tuple[PointName, ...]:
    return tuple(side for point in points for side in MIDDLES.get(point, (point,)))


def _as_free(wide: Network, network: Network) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    free = wide.free.copy()
    for row, name in enumerate(network.points):
        here = wide.points.index(name)
        free[3 * here : 3 * here + 3] = network.free[3 * row : 3 * row + 3]
    return free


def _by_key(extra: Sequence[Reading], effects: FloatArray) -> dict[str, FloatArray]:
    # A width brings the assumption that the pair is centred along with it.
    rows: dict[str, list[FloatArray]] = {}
    centred = {each.points: effects[i] for i, each in enumerate(extra) if each.kind is ReadingKind.CENTRING}
    for reading, effect in zip(extra, effects, strict=True):
        if reading.kind is not ReadingKind.CENTRING:
            rows.setdefault(reading.key, []).append(effect)
            if reading.kind is ReadingKind.WIDTH and reading.points in centred:
                rows[reading.key].append(centred[reading.points])
    return {key: np.array(effect) for key, effect in rows.items()}
