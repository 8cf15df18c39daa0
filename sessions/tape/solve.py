"""From readings to coordinates: weighted least squares by Gauss–Newton, placing every point that can be placed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sessions.geometry.frame import FloatArray
from sessions.geometry.points import PointName
from sessions.geometry.position import Position
from sessions.tape.adjust import adjust_linear
from sessions.tape.centring import centring
from sessions.tape.errors import ContradictionError, TooManyReadingsError, UnderDeterminedError
from sessions.tape.estimate import Estimate, placed_position
from sessions.tape.missing import Unplaced, unplaced_points
from sessions.tape.network import Network, build_network
from sessions.tape.quality import ReadingQuality, judge, sigma_zero, suspects
from sessions.tape.readings import Reading

MOST_READINGS = 500
MOST_STEPS = 60
MOST_HALVINGS = 20
LONGEST_STEP_MM = 200.0
SETTLED = 1e-8
NEARLY_SETTLED = 1e-3
FITS_WELL = 36.0
OTHER_LEVELS_MM = (-75.0, 75.0, -150.0, 150.0, -225.0, -300.0)
HELD_BY_SLANTS = frozenset({PointName.HOOD_LEFT, PointName.HOOD_RIGHT, PointName.HOOD_MIDDLE})


@dataclass(frozen=True, eq=False, slots=True)
class Solution:
    """What the readings say.

    Parameters
    ----------
    position : Position
        The points that could be placed, the bottom bracket always among them.
    scalars : mapping
        Value and sigma of each scalar, by key.
    quality : tuple of ReadingQuality
        Residual and redundancy of each reading, in their order.
    dof : int
        Readings more than needed.
    sigma0 : float or None
        Square root of the weighted sum of squares by ``dof``; near 1 where the readings agree as well as their sigmas promise.
    unplaced : tuple of Unplaced
        Points that were read but cannot be placed yet, and what would complete them.
    suspects : tuple of str
        Keys of the readings that fit the others worst, where they fail the test of normalised residuals.
    assumed : tuple of Reading
        What was assumed for want of a reading.
    converged : bool
        False where no coordinates satisfy the readings even roughly.
    estimate : Estimate
        Everything solved, unplaced points too, with the directions that no reading fixes.
    """

    position: Position
    scalars: Mapping[str, tuple[float, float]]
    quality: tuple[ReadingQuality, ...]
    dof: int
    sigma0: float | None
    unplaced: tuple[Unplaced, ...]
    suspects: tuple[str, ...]
    assumed: tuple[Reading, ...]
    converged: bool
    estimate: Estimate


def adjust(
    readings: Sequence[Reading],
    *,
    pitch_deg: float = 0.0,
    pitch_sigma_deg: float = 0.0,
    known: Mapping[PointName, Sequence[float]] | None = None,
    start: Mapping[PointName, Sequence[float]] | None = None,
) -> Solution:
    """Adjust any set of readings, placing what can be placed.

    Parameters
    ----------
    readings : sequence of Reading
        In any order, more than needed welcome, repeats too.
    pitch_deg, pitch_sigma_deg : float
        How far the front of the bike stood up on the trainer and how well that is known [deg]; plumb and level readings are
        understood as taken in that stance, coordinates come out for the level bike.
    known : mapping, optional
        Points whose coordinates are given, not adjusted [mm].
    start : mapping, optional
        Starting coordinates where the bike is far from usual [mm].

    Returns
    -------
    Solution

    Raises
    ------
    TooManyReadingsError
        If there are more than 500 readings.

    Notes
    -----
    Minimises Σ((f(x) − l)/σ)² over the coordinates. Where readings do not fix a direction the step is the shortest that fits
    (pseudo-inverse), and only functions of the coordinates that do not change along such directions are reported.
    """
    if len(readings) > MOST_READINGS:
        sentence = f"These are {len(readings)} readings; one bike is measured with {MOST_READINGS} at most."
        raise TooManyReadingsError(sentence, value=len(readings))
    assumed = centring(readings)
    network = build_network((*readings, *assumed), pitch_deg=pitch_deg, known=known, start=start)
    state, converged = _best_fit(network)
    return _conclude(network, state, assumed, pitch_sigma_deg, converged=converged)


def solve(
    readings: Sequence[Reading],
    *,
    pitch_deg: float = 0.0,
    pitch_sigma_deg: float = 0.0,
    known: Mapping[PointName, Sequence[float]] | None = None,
    start: Mapping[PointName, Sequence[float]] | None = None,
) -> Solution:
    """Adjust readings that must place every point they name; parameters as for `adjust`.

    Raises
    ------
    UnderDeterminedError
        If a point cannot be placed; it says which reading would complete it.
    ContradictionError
        If no coordinates satisfy the readings.
    """
    solution = adjust(readings, pitch_deg=pitch_deg, pitch_sigma_deg=pitch_sigma_deg, known=known, start=start)
    if not solution.converged:
        raise ContradictionError("These readings cannot all be right.", keys=solution.suspects)
    for each in solution.unplaced:
        raise UnderDeterminedError(each.sentence, point=each.point, completing=each.completing, together=each.together)
    return solution


def _best_fit(network: Network) -> tuple[FloatArray, bool]:
    # A slanting tape fits above and below the level of its other end: where the usual side fits badly, the others are tried.
    state, converged = _iterate(network, network.start)
    if converged and network.misfit(state) <= FITS_WELL:
        return state, converged
    found = [(state, converged), *(_iterate(network, start) for start in _other_starts(network))]
    return min(found, key=lambda each: (not each[1], network.misfit(each[0])))


def _other_starts(network: Network) -> Iterator[FloatArray]:
    raised = [row for row, point in enumerate(network.points) if point in HELD_BY_SLANTS]
    for rise_mm in OTHER_LEVELS_MM:
        start = network.start.copy()
        for row in raised:
            if network.free[3 * row + 1]:
                start[3 * row + 1] += rise_mm
        yield start


def _iterate(network: Network, start: FloatArray) -> tuple[FloatArray, bool]:
    state = start.copy()
    for _ in range(MOST_STEPS):
        values, jacobian, _ = network.predicted(state)
        step = adjust_linear(jacobian[:, network.free], network.misclosure(values), network.sigma).estimate
        # What the step would still change in the readings, in sigmas: weak directions may go on drifting within their own.
        gain = float(np.linalg.norm(jacobian[:, network.free] @ step / network.sigma))
        if gain < SETTLED:
            return state, True
        state, moved = _shortened(network, state, step)
        if not moved:
            return state, gain < NEARLY_SETTLED
    return state, False


def _spread(network: Network, step: FloatArray) -> FloatArray:
    longest = float(np.abs(step).max(initial=0.0))
    spread = np.zeros(network.start.size)
    spread[network.free] = step * min(1.0, LONGEST_STEP_MM / max(longest, 1e-30))
    return spread


def _shortened(network: Network, state: FloatArray, step: FloatArray) -> tuple[FloatArray, bool]:
    # Half the step until the sum of squares no longer grows.
    whole, cost = _spread(network, step), network.misfit(state)
    for halving in range(MOST_HALVINGS):
        trial: FloatArray = state + whole * 0.5**halving
        if network.misfit(trial) <= cost * (1.0 + 1e-9) + 1e-18:
            return trial, True
    return state, False


def _conclude(
    network: Network, state: FloatArray, assumed: tuple[Reading, ...], pitch_sigma_deg: float, *, converged: bool
) -> Solution:
    values, jacobian, slope = network.predicted(state)
    residuals = -network.misclosure(values)
    linear = adjust_linear(jacobian[:, network.free], residuals, network.sigma)
    drift = linear.gain @ slope * pitch_sigma_deg
    estimate = Estimate.of(network, state, linear.covariance + np.outer(drift, drift), linear.undecided)
    dof = len(network.readings) - (int(network.free.sum()) - linear.undecided.shape[1])
    quality = judge(network.readings, values, residuals, linear.redundancy)
    position = placed_position(estimate)
    return Solution(
        position,
        estimate.scalars(),
        quality,
        dof,
        sigma_zero(quality, dof),
        unplaced_points(network, state, position),
        suspects(quality),
        assumed,
        converged and math.isfinite(float(np.abs(state).sum())),
        estimate,
    )
