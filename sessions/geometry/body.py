"""Body measures: what each is, what is believed, and which do not go together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sessions.geometry.errors import UnknownKeyError
from sessions.geometry.limits import Limits, check_limits, is_within


@dataclass(frozen=True, slots=True)
class BodyMeasure:
    """One body measure: name, limits and how it is taken."""

    key: str
    label: str
    limits: Limits
    how: str


def _measure(key: str, label: str, low: float, high: float, how: str) -> BodyMeasure:
    return BodyMeasure(key, label, Limits(low, high), how)


# Wider than every adult of the 2012 US Army survey (NATICK/TR-15/007), since riders are no soldiers, and always narrower
# than a factor of ten, so that no slipped digit passes.
BODY: Mapping[str, BodyMeasure] = {
    each.key: each
    for each in (
        _measure("stature", "Stature", 1200, 2200, "Standing, without shoes, heel to crown."),
        _measure(
            "inseam", "Inseam", 540, 1150, "Floor to crotch, without shoes, a book pressed up as firmly as a saddle."
        ),
        _measure(
            "trochanter_height", "Hip height", 570, 1200, "Floor to the top of the bony point at the side of the hip."
        ),
        _measure("thigh", "Thigh", 250, 600, "From the bony point of the hip to the middle of the knee's outer side."),
        _measure("shank", "Shank", 250, 600, "From the middle of the knee's outer side to the outer ankle bone."),
        _measure("ankle_height", "Ankle height", 35, 120, "Floor to the outer ankle bone, without shoes."),
        _measure("foot_length", "Foot length", 170, 360, "Heel to the longest toe, standing."),
        _measure("trunk", "Trunk", 330, 750, "From the bony point of the hip up to the point of the shoulder."),
        _measure("upper_arm", "Upper arm", 210, 450, "From the point of the shoulder to the outer elbow."),
        _measure("forearm", "Forearm", 160, 380, "From the outer elbow to the wrist bone on the thumb's side."),
        _measure(
            "arm", "Arm to grip", 430, 920, "From the point of the shoulder to the middle of a held rod, arm straight."
        ),
        _measure(
            "shoulder_breadth", "Shoulder breadth", 250, 560, "Across the back, point of shoulder to point of shoulder."
        ),
        _measure("span", "Arm span", 1100, 2350, "Fingertip to fingertip, arms level."),
        _measure("hand_length", "Hand length", 125, 260, "Wrist crease to the tip of the middle finger."),
    )
}


@dataclass(frozen=True, slots=True)
class BodyWarning:
    """Two or more measures that rarely go together: not refused, but worth taking again."""

    keys: tuple[str, ...]
    sentence: str


# Ratios with the range in which they are believed; beyond the 0.1 and 99.9 percentiles of the survey's men and women.
_RATIOS: tuple[tuple[tuple[str, ...], str, float, float], ...] = (
    (("inseam",), "stature", 0.40, 0.57),
    (("trochanter_height",), "inseam", 0.98, 1.18),
    (("thigh", "shank"), "inseam", 0.90, 1.10),
    (("thigh",), "shank", 0.78, 1.18),
    (("span",), "stature", 0.90, 1.15),
    (("upper_arm",), "stature", 0.165, 0.22),
    (("foot_length",), "stature", 0.13, 0.18),
    (("shoulder_breadth",), "stature", 0.185, 0.28),
)


def check_body(key: str, value: float) -> float:
    """Return a plausible body measure [mm].

    Raises
    ------
    UnknownKeyError
        If there is no such measure.
    NotANumberError, OutOfLimitsError
        If the value is implausible; the sentence names centimetres, inches or a slipped digit where that explains it.

    Examples
    --------
    >>> check_body("inseam", 830.0)
    830.0
    """
    if key not in BODY:
        raise UnknownKeyError("There is no such body measure.", value=key, key=key)
    return check_limits(BODY[key].label, value, BODY[key].limits, key=key)


def can_be_body(key: str, value: float) -> bool:
    """Return whether a body measure is plausible."""
    return key in BODY and is_within(value, BODY[key].limits)


def body_warnings(measures_mm: Mapping[str, float]) -> tuple[BodyWarning, ...]:
    """Return what does not go together among plausible measures.

    Parameters
    ----------
    measures_mm : mapping
        Key to value [mm]; only the pairs that are there are compared.

    Examples
    --------
    >>> [w.keys for w in body_warnings({"stature": 1750.0, "inseam": 1030.0})]
    [('inseam', 'stature')]
    """
    found = (_ratio_warning(parts, whole, low, high, measures_mm) for parts, whole, low, high in _RATIOS)
    return tuple(each for each in found if each is not None)


def _ratio_warning(
    parts: tuple[str, ...], whole: str, low: float, high: float, measures_mm: Mapping[str, float]
) -> BodyWarning | None:
    keys = (*parts, whole)
    if not all(key in measures_mm for key in keys):
        return None
    ratio = sum(measures_mm[key] for key in parts) / measures_mm[whole]
    if low <= ratio <= high:
        return None
    name = " and ".join(BODY[key].label if i == 0 else BODY[key].label.lower() for i, key in enumerate(parts))
    verb = "is" if len(parts) == 1 else "are together"
    other = BODY[whole].label.lower()
    sentence = f"{name} {verb} {ratio:.2f} of the {other}; almost everyone lies between {low:.2f} and {high:.2f}. Measure both again."
    return BodyWarning(keys, sentence)
