"""Limits of the plausible, and what was probably meant by a value outside them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from sessions.geometry.errors import BadSigmaError, NotANumberError, OutOfLimitsError

Unit = Literal["mm", "deg"]
UNIT_WORDS: dict[str, str] = {"mm": " mm", "deg": "°"}
MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Limits:
    """Lowest and highest value that is believed, in ``unit``, and the reason shown when a value is refused."""

    low: float
    high: float
    unit: Unit = "mm"
    reason: str = ""


def number_words(value: float, unit: str) -> str:
    """Return a value with its unit as a person would write it.

    Examples
    --------
    >>> number_words(-12.50, "mm"), number_words(73.0, "deg")
    ('−12.5 mm', '73°')
    """
    return f"{value:.10g}".replace("-", "−") + UNIT_WORDS[unit]


def is_within(value: float, limits: Limits) -> bool:
    """Return whether a value is a finite number inside the limits."""
    return math.isfinite(value) and limits.low <= value <= limits.high


def probable_meaning(value: float, limits: Limits) -> str:
    """Say what an implausible value was probably meant to be, or return an empty text.

    Examples
    --------
    >>> probable_meaning(83.0, Limits(540.0, 1150.0))
    '83 looks like centimetres: that would be 830 mm.'
    >>> probable_meaning(8300.0, Limits(540.0, 1150.0))
    '8300 looks like a digit too many: 830 mm would be possible.'
    """
    if limits.unit == "mm":
        for factor, unit in ((10.0, "centimetres"), (MM_PER_INCH, "inches"), (1000.0, "metres")):
            if is_within(value * factor, limits):
                return f"{value:.10g} looks like {unit}: that would be {number_words(round(value * factor, 1), 'mm')}."
    if is_within(value / 10.0, limits):
        meant = number_words(value / 10.0, limits.unit)
        return f"{value:.10g} looks like a digit too many: {meant} would be possible."
    if is_within(-value, limits):
        return f"Is the sign right? {number_words(-value, limits.unit)} would be possible."
    return ""


def check_number(what: str, value: object, *, key: str = "") -> float:
    """Return the value as a float, refusing what is not a finite number.

    Raises
    ------
    NotANumberError
        If the value is no number, not a number (NaN) or infinite.
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise NotANumberError(f"{what}: enter a number.", value=value, key=key)
    if isinstance(value, int) and abs(value) > 10**15:
        raise NotANumberError(f"{what}: this number is far too long.", value=value, key=key)
    if not math.isfinite(value):
        raise NotANumberError(f"{what}: enter an ordinary number.", value=value, key=key)
    return float(value)


def check_limits(what: str, value: float, limits: Limits, *, key: str = "") -> float:
    """Return the value where it is plausible.

    Parameters
    ----------
    what : str
        Name of the measure, to begin the sentence.
    value : float
        The value [the limits' unit].
    limits : Limits
        What is believed.
    key : str
        Field that the error belongs to.

    Raises
    ------
    NotANumberError
        If the value is not a finite number.
    OutOfLimitsError
        If it lies outside the limits; the sentence says what was probably meant.
    """
    number = check_number(what, value, key=key)
    if is_within(number, limits):
        return number
    low, high = number_words(limits.low, limits.unit), number_words(limits.high, limits.unit)
    hint = probable_meaning(number, limits)
    parts = (f"{what}: {number_words(number, limits.unit)} is not between {low} and {high}.", limits.reason, hint)
    sentence = " ".join(part for part in parts if part)
    raise OutOfLimitsError(sentence, value=number, low=limits.low, high=limits.high, hint=hint, key=key)


def check_sigma(what: str, sigma: object, *, key: str = "") -> float:
    """Return a measuring uncertainty, refusing zero, negative and non-finite ones.

    Raises
    ------
    BadSigmaError
        If the uncertainty is not a finite number above zero.
    """
    good = isinstance(sigma, int | float) and not isinstance(sigma, bool) and math.isfinite(sigma) and sigma > 0
    if not good:
        raise BadSigmaError(f"{what}: the measuring uncertainty must be more than zero.", value=sigma, key=key)
    return float(sigma)  # type: ignore[arg-type]
