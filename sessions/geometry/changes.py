"""Before against after and left against right: how large, how sure, and whether it is real."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sessions.geometry.dimensions import Dimension
from sessions.geometry.limits import Unit
from sessions.geometry.recipes import Group

REAL_FACTOR = 1.96


def is_real(difference: float, sigma: float) -> bool:
    """Return whether a difference exceeds measuring error, |Δ| > 1.96·σ.

    Examples
    --------
    >>> is_real(4.0, 2.0), is_real(3.9, 2.0)
    (True, False)
    """
    return abs(difference) > REAL_FACTOR * sigma


@dataclass(frozen=True, slots=True)
class Change:
    """One dimension before and after; ``delta``, ``sigma`` and ``real`` are None where one of the two is missing."""

    key: str
    label: str
    unit: Unit
    group: Group
    before: Dimension | None
    after: Dimension | None
    delta: float | None
    sigma: float | None
    real: bool | None


@dataclass(frozen=True, slots=True)
class SideDifference:
    """Left against right; a side is None where only the difference is known. ``difference`` is left minus right."""

    key: str
    label: str
    unit: Unit
    group: Group
    left: Dimension | None
    right: Dimension | None
    difference: float
    sigma: float
    real: bool


def compare(before: Iterable[Dimension], after: Iterable[Dimension]) -> tuple[Change, ...]:
    """Set two sets of dimensions side by side.

    Parameters
    ----------
    before, after : iterable of Dimension
        Measured independently of each other.

    Returns
    -------
    tuple of Change
        One per key, in the order of ``after`` with what only ``before`` has set in where it stood.

    Notes
    -----
    σ(Δ) = √(σ₁² + σ₂²); real where |Δ| > 1.96·σ(Δ).
    """
    earlier = {each.key: each for each in before}
    later = {each.key: each for each in after}
    keys = _merged(list(earlier), list(later))
    return tuple(_change(later.get(key) or earlier[key], earlier.get(key), later.get(key)) for key in keys)


def _merged(earlier: list[str], later: list[str]) -> list[str]:
    keys = list(later)
    for index, key in enumerate(earlier):
        if key not in keys:
            ahead = [keys.index(known) for known in earlier[:index] if known in keys]
            keys.insert(max(ahead, default=-1) + 1, key)
    return keys


def _change(shown: Dimension, before: Dimension | None, after: Dimension | None) -> Change:
    named = (shown.key, shown.label, shown.unit, shown.group)
    if before is None or after is None:
        return Change(*named, before, after, None, None, None)
    delta, sigma = after.value - before.value, math.hypot(before.sigma, after.sigma)
    return Change(*named, before, after, delta, sigma, is_real(delta, sigma))


def left_right(dimensions: Iterable[Dimension]) -> tuple[SideDifference, ...]:
    """Return every left-minus-right difference among the dimensions.

    Notes
    -----
    The uncertainty is that of the difference itself: what both sides share, such as the floor, has cancelled.
    """
    known = {each.key: each for each in dimensions}
    return tuple(_sides(each, known) for key, each in known.items() if key.endswith("_difference"))


def _sides(difference: Dimension, known: Mapping[str, Dimension]) -> SideDifference:
    stem = difference.key.removesuffix("_difference")
    left, right = _both(stem, known)
    label = difference.label.removesuffix(", left minus right")
    real = is_real(difference.value, difference.sigma)
    named = (stem, label, difference.unit, difference.group)
    return SideDifference(*named, left, right, difference.value, difference.sigma, real)


def _both(stem: str, known: Mapping[str, Dimension]) -> tuple[Dimension | None, Dimension | None]:
    # Heights above the bottom bracket stand in where the floor was not measured.
    for name in (stem, stem.replace("_height", "_stack")):
        left, right = known.get(f"{name}_left"), known.get(f"{name}_right")
        if left and right:
            return left, right
    return None, None
