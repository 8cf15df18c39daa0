"""From whatever was read to everything that can be said of the position: the one call a page needs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sessions.geometry.dimensions import Dimension
from sessions.geometry.frame import LEVEL_SIGMA_DEG, PITCH_LIMIT_DEG
from sessions.geometry.limits import Limits, check_limits, check_sigma
from sessions.geometry.position import Position
from sessions.geometry.recipes import RECIPES
from sessions.tape.advice import assumption, disagreement
from sessions.tape.decided import decided_dimensions
from sessions.tape.missing import Unplaced
from sessions.tape.quality import worst
from sessions.tape.readings import Reading
from sessions.tape.solve import Solution, adjust

# Readings that miss the others by this many sigmas are set aside until they are taken again.
MISFIT = 6.0
PITCH_LIMITS = Limits(-PITCH_LIMIT_DEG, PITCH_LIMIT_DEG, "deg", "It is how far the front of the bike stands up.")


@dataclass(frozen=True, eq=False, slots=True)
class FitSolution:
    """Everything that a set of readings says of a position.

    Parameters
    ----------
    position : Position or None
        The placed points; None while only the bottom bracket is known.
    dimensions : tuple of Dimension
        Every derived dimension that the readings fix, with its uncertainty, even where its points are not placed.
    missing : tuple of str
        One sentence per point that cannot be placed yet.
    warnings : tuple of str
        Readings that contradict each other, and what was assumed.
    suspects : tuple of str
        Keys of readings to take again, those set aside first.
    set_aside : tuple of str
        Keys of readings so far off that only the dimension they measure themselves comes from them, nothing else.
    unplaced : tuple of Unplaced
        The points behind ``missing``.
    solution : Solution
        Residuals, redundancy and the rest.
    """

    position: Position | None
    dimensions: tuple[Dimension, ...]
    missing: tuple[str, ...]
    warnings: tuple[str, ...]
    suspects: tuple[str, ...]
    set_aside: tuple[str, ...]
    unplaced: tuple[Unplaced, ...]
    solution: Solution

    def dimension(self, key: str) -> Dimension | None:
        """Return the dimension of a key, or None."""
        return next((each for each in self.dimensions if each.key == key), None)


def solve_fit(
    readings: Sequence[Reading], pitch_deg: float = 0.0, *, pitch_sigma_deg: float | None = None
) -> FitSolution:
    """Solve what can be solved from any set of readings, none included.

    Parameters
    ----------
    readings : sequence of Reading
        Tape, plumb, level and coordinate readings and scalars, mixed in any order.
    pitch_deg : float
        How far the front of the bike stood up [deg].
    pitch_sigma_deg : float, optional
        How well that is known [deg]; by default a level's 0.2° for a pitch, nothing for a bike that stood level.

    Returns
    -------
    FitSolution

    Raises
    ------
    OutOfLimitsError, NotANumberError, BadSigmaError
        If the pitch or its uncertainty is implausible.
    TooManyReadingsError
        If there are more than 500 readings.

    Examples
    --------
    >>> from sessions.tape.taking import take
    >>> fit = solve_fit([take("saddle_height", 731.0), take("setback_datum", 212.0)])
    >>> [(d.key, round(d.value, 1), round(d.sigma, 1)) for d in fit.dimensions]
    [('saddle_height', 731.0, 1.5), ('setback_datum', 212.0, 1.5), ('seat_angle', 73.1, 0.1)]
    >>> solve_fit([take("saddle_height", 731.0)]).missing
    ('The saddle datum cannot be placed yet: saddle setback to the datum would complete it.',)
    """
    pitch = check_limits("Pitch", pitch_deg, PITCH_LIMITS, key="pitch")
    pitch_sigma = _pitch_sigma(pitch, pitch_sigma_deg)
    kept, aside = list(readings), []
    solution = adjust(kept, pitch_deg=pitch, pitch_sigma_deg=pitch_sigma)
    while _is_misfit(solution) and kept:
        aside.append(solution)
        kept = [reading for reading in kept if reading.key not in _to_drop(solution)]
        solution = adjust(kept, pitch_deg=pitch, pitch_sigma_deg=pitch_sigma)
    return _told(readings, solution, tuple(aside))


def _pitch_sigma(pitch_deg: float, given_deg: float | None) -> float:
    if given_deg is None:
        return LEVEL_SIGMA_DEG if pitch_deg else 0.0
    return check_sigma("Pitch", given_deg, key="pitch") if given_deg else 0.0


def _is_misfit(solution: Solution) -> bool:
    return worst(solution.quality) > MISFIT or not solution.converged


def _to_drop(solution: Solution) -> tuple[str, ...]:
    if solution.suspects:
        return solution.suspects
    taken = (each for each in solution.quality if each.reading not in solution.assumed)
    return (max(taken, key=lambda each: abs(each.residual) / each.reading.sigma).reading.key,)


def _told(readings: Sequence[Reading], solution: Solution, aside: tuple[Solution, ...]) -> FitSolution:
    dropped = tuple(key for each in aside for key in _to_drop(each))
    warnings = [disagreement(each, _to_drop(each), set_aside=True) for each in aside]
    if solution.suspects:
        warnings.append(disagreement(solution, solution.suspects))
    warnings.extend(assumption(each) for each in solution.assumed)
    return FitSolution(
        solution.position if len(solution.position.names) > 1 else None,
        _in_order([*decided_dimensions(solution), *_as_read(readings, dropped)]),
        tuple(each.sentence for each in solution.unplaced),
        tuple(warnings),
        (*dropped, *solution.suspects),
        dropped,
        solution.unplaced,
        solution,
    )


def _in_order(found: Sequence[Dimension]) -> tuple[Dimension, ...]:
    # What was worked out goes before what was merely read; of each key the first stays.
    by_key: dict[str, Dimension] = {}
    for each in found:
        by_key.setdefault(each.key, each)
    order = [*(recipe.key for recipe in RECIPES), *by_key]
    return tuple(by_key[key] for key in dict.fromkeys(order) if key in by_key)


def _as_read(readings: Sequence[Reading], keys: Sequence[str]) -> Iterator[Dimension]:
    # A reading that was set aside still stands for itself: it is what was read.
    for key in dict.fromkeys(keys):
        repeats = [reading for reading in readings if reading.key == key]
        alone = adjust(repeats)
        yield from (each for each in decided_dimensions(alone) if each.key == key)
