"""A typed value becomes a reading of the common set, or a sentence that says why not."""

from __future__ import annotations

from sessions.geometry.errors import UnknownKeyError
from sessions.geometry.limits import check_limits, is_within
from sessions.tape.common import COMMON, CommonReading
from sessions.tape.readings import DEFAULT_SIGMA, Instrument, Reading


def common_reading(key: str) -> CommonReading:
    """Return one of the common set.

    Raises
    ------
    UnknownKeyError
        If there is none of that key.
    """
    if key not in COMMON:
        raise UnknownKeyError("There is no such reading.", value=key, key=key)
    return COMMON[key]


def take(key: str, value: float, *, sigma: float | None = None, instrument: Instrument | None = None) -> Reading:
    """Return a reading of the common set.

    Parameters
    ----------
    key : str
        Its key in `COMMON`.
    value : float
        [unit of the reading]
    sigma : float, optional
        One-sigma uncertainty; the instrument's own by default.
    instrument : Instrument, optional
        What took it; the usual one by default.

    Raises
    ------
    UnknownKeyError, NotANumberError, OutOfLimitsError, BadSigmaError, BadReadingError
        With the sentence for the field.

    Examples
    --------
    >>> r = take("saddle_height", 731.0)
    >>> r.value, r.sigma, r.instrument.value
    (731.0, 1.5, 'tape')
    """
    spec = common_reading(key)
    used = instrument or spec.instrument
    checked = check_limits(spec.label, value, spec.limits, key=key)
    chosen = DEFAULT_SIGMA[used] if sigma is None else sigma
    return Reading(key, spec.kind, spec.points, checked, chosen, used, spec.unit, spec.label)


def can_take(key: str, value: float) -> bool:
    """Return whether a value is plausible for a reading of the common set."""
    return key in COMMON and is_within(value, COMMON[key].limits)
