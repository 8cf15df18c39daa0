"""Whether forecasts, taken together, mean what they say: where outcomes fell in them, and how often in their 90 % band."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from intake.experience.errors import JudgedForecastError
from intake.experience.scores import crps, cumulated, happened_cell
from intake.experience.special import share_interval

BAND = (0.05, 0.95)
BINS = 10
TELLING_SESSIONS = 30
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Outcome:
    """One forecast held against what happened.

    Attributes
    ----------
    pit_low, pit_high : float
        What the forecast gave to fewer minutes than were lost, and to that many or fewer.
    crps, crps_prior : float
        The score of the forecast and of the one by the catalogue's own estimates [min].
    within_band : bool
        Whether the minutes lay between the forecast's 5 % and 95 % quantile, both included.
    band_chance : float
        The chance that the forecast itself gave to that: at least 0.9, more where single minutes are likely.
    chance : float
        The chance that it gave to running to plan.
    to_plan : bool
        Whether the session did.
    """

    pit_low: float
    pit_high: float
    crps: float
    crps_prior: float
    within_band: bool
    band_chance: float
    chance: float
    to_plan: bool


def judge_forecast(pmf: Sequence[float], prior_pmf: Sequence[float], lost_min: int, slack_min: int) -> Outcome:
    """Hold one forecast against the minutes that were lost; JudgedForecastError where either cannot be."""
    reached = cumulated(pmf)
    at = happened_cell(lost_min, len(reached))
    low, high = (int(np.searchsorted(reached, share - ROUNDING)) for share in BAND)
    below = float(reached[low - 1]) if low else 0.0
    return Outcome(
        pit_low=float(reached[at - 1]) if at else 0.0,
        pit_high=float(reached[at]),
        crps=crps(pmf, lost_min),
        crps_prior=crps(prior_pmf, lost_min),
        within_band=low <= at <= high,
        band_chance=float(reached[min(high, len(reached) - 1)]) - below,
        chance=float(reached[min(slack_min, len(reached) - 1)]),
        to_plan=lost_min <= slack_min,
    )


def pit_histogram(lows: Sequence[float], highs: Sequence[float], bins: int = BINS) -> NDArray[np.float64]:
    """Return the share of outcomes in each tenth of their forecasts: level where forecasts mean what they say.

    Notes
    -----
    Minutes are counts, so an outcome fills the stretch from ``low`` to ``high`` of its forecast evenly, instead of a point drawn at
    random in it (the non-randomised histogram). A U says that forecasts are too sure, a hump that they are too unsure, a slope
    that they expect too little (rising) or too much (falling).

    References
    ----------
    Czado, Gneiting & Held 2009, *Biometrics* 65:1254–1261.

    Examples
    --------
    >>> pit_histogram([0.0], [0.5], bins=4).tolist()
    [0.5, 0.5, 0.0, 0.0]
    """
    low, high = np.asarray(lows, dtype=np.float64), np.asarray(highs, dtype=np.float64)
    if not len(low) or np.any(low > high) or np.any(low < 0) or np.any(high > 1 + ROUNDING):
        raise JudgedForecastError("place in a forecast", [*zip(lows, highs, strict=False)][:5])
    width = high - low
    cuts = np.linspace(0.0, 1.0, bins + 1)[:, None]
    filled = np.clip(cuts - low, 0.0, width) / np.where(width > 0, width, 1.0)
    points = (cuts >= high).astype(np.float64)
    reached = np.where(width > 0, filled, points).mean(axis=1)
    shares: NDArray[np.float64] = np.diff(reached)
    shares[0] += reached[0]
    return shares


@dataclass(frozen=True, slots=True)
class Coverage:
    """How many outcomes lay in their 90 % bands, with the 95 % interval of that share, and what the forecasts gave to it."""

    hits: int
    sessions: int
    low: float
    high: float
    promised: float

    @property
    def share(self) -> float:
        """The share of outcomes in their bands."""
        return self.hits / self.sessions

    @property
    def fits(self) -> bool:
        """Whether what the forecasts promised lies within the interval."""
        return self.low <= self.promised <= self.high


def coverage(within: Sequence[bool], band_chances: Sequence[float]) -> Coverage:
    """Count the outcomes that lay in their bands; JudgedForecastError without any."""
    if not within or len(within) != len(band_chances):
        raise JudgedForecastError("number of sessions", len(within))
    hits = sum(within)
    low, high = share_interval(hits, len(within))
    return Coverage(hits, len(within), low, high, sum(band_chances) / len(band_chances))


def skill(scores: Sequence[float], prior_scores: Sequence[float]) -> float | None:
    """Return by which share the mean score is better than that of the prior; None where the prior was never wrong.

    >>> skill([6.0, 2.0], [8.0, 8.0])
    0.5
    """
    worst = sum(prior_scores)
    return 1.0 - sum(scores) / worst if worst > 0 else None
