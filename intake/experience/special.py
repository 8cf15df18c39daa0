"""The incomplete beta function, and the quantiles that come of it: of a beta, of Student's t, of a binomial share."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

TINY = 1e-300
CLOSE = 1e-16
MOST_STEPS = 10_000


def beta_cdf(x: float, a: float, b: float) -> float:
    """Return the regularised incomplete beta function I_x(a, b) for a, b > 0.

    Notes
    -----
    The continued fraction of DLMF 8.17.22, by the modified Lentz algorithm, on the side of the mean where it converges fast.

    References
    ----------
    NIST Digital Library of Mathematical Functions, https://dlmf.nist.gov/8.17

    Examples
    --------
    >>> round(beta_cdf(0.25, 1, 1), 12)
    0.25
    """
    if x <= 0 or x >= 1:
        return float(x >= 1)
    if x > (a + 1) / (a + b + 2):
        return 1.0 - _left(1.0 - x, b, a)
    return _left(x, a, b)


def _left(x: float, a: float, b: float) -> float:
    front = math.exp(log_beta_front(x, a, b)) / a
    return front / _lentz(_terms(x, a, b))


def log_beta_front(x: float, a: float, b: float) -> float:
    """Return the logarithm of x^a (1−x)^b / B(a, b)."""
    return math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)


def _terms(x: float, a: float, b: float) -> Iterator[float]:
    """Yield d₁, d₂ … of the fraction 1/(1 + d₁/(1 + d₂/(1 + …)))."""
    for m in range(MOST_STEPS):
        yield -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        k = m + 1
        yield k * (b - k) * x / ((a + 2 * k - 1) * (a + 2 * k))


def _lentz(terms: Iterator[float]) -> float:
    value = upper = 1.0
    lower = 0.0
    for term in terms:
        lower = 1.0 / ((1.0 + term * lower) or TINY)
        upper = (1.0 + term / upper) or TINY
        value *= upper * lower
        if abs(upper * lower - 1.0) < 4 * CLOSE:
            break
    return value


@lru_cache(maxsize=8192)
def beta_quantile(share: float, a: float, b: float) -> float:
    """Return x with I_x(a, b) = share: Newton's steps, kept between the bounds that bisection keeps.

    >>> round(beta_quantile(0.5, 2, 2), 12)
    0.5
    """
    if share <= 0 or share >= 1:
        return float(share >= 1)
    low, high, x = 0.0, 1.0, a / (a + b)
    for _step in range(200):
        missed = beta_cdf(x, a, b) - share
        low, high = (low, x) if missed > 0 else (x, high)
        x, before = _next(x, missed, low, high, a, b), x
        if abs(x - before) <= 4 * CLOSE * x or high - low <= CLOSE * high:
            break
    return x


def _next(x: float, missed: float, low: float, high: float, a: float, b: float) -> float:
    middle = (low + high) / 2
    if not 0 < x < 1:
        return middle
    slope = math.exp(log_beta_front(x, a, b)) / (x * (1 - x))
    newton = x - missed / slope if slope > TINY else middle
    return newton if low < newton < high else middle


@lru_cache(maxsize=8192)
def t_quantile(share: float, degrees: float) -> float:
    """Return the quantile of Student's t with so many degrees of freedom.

    Notes
    -----
    P(|T| < t) = I_y(½, ν/2) with y = t²/(ν + t²), so t = √(ν·y/(1 − y)).

    Examples
    --------
    >>> round(t_quantile(0.9, 4), 4)
    1.5332
    """
    if share < 0.5:
        return -t_quantile(1 - share, degrees)
    y = beta_quantile(2 * share - 1, 0.5, degrees / 2)
    return math.sqrt(degrees * y / (1 - y)) if y < 1 else math.inf


def share_interval(hits: int, trials: int, confidence: float = 0.95) -> tuple[float, float]:
    """Return the exact (Clopper–Pearson) interval of a share that was seen ``hits`` times in ``trials``; all of 0 to 1 without any.

    References
    ----------
    Clopper & Pearson 1934, *Biometrika* 26:404–413.

    Examples
    --------
    >>> [round(limit, 4) for limit in share_interval(0, 10)]
    [0.0, 0.3085]
    """
    if not trials:
        return 0.0, 1.0
    tail = (1 - confidence) / 2
    low = beta_quantile(tail, hits, trials - hits + 1) if hits else 0.0
    high = beta_quantile(1 - tail, hits + 1, trials - hits) if hits < trials else 1.0
    return low, high
