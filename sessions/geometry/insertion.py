"""How far a seatpost must be inside the frame."""

from __future__ import annotations

from dataclasses import dataclass

from sessions.geometry.errors import InsertionError, OutOfLimitsError
from sessions.geometry.limits import Limits, check_limits, check_number, number_words

DIAMETERS_WITHOUT_MARK = 2.0
DIAMETER_LIMITS = Limits(20.0, 40.0, "mm", "Round seatposts run from about 22 to 35 mm.")
LENGTH_LIMITS = Limits(0.0, 500.0)


@dataclass(frozen=True, slots=True)
class Insertion:
    """The least insertion that counts, and where it comes from."""

    least_mm: float
    source: str


def least_insertion(
    diameter_mm: float | None = None, *, marked_mm: float | None = None, frame_mm: float | None = None
) -> Insertion:
    """Return the least insertion of a seatpost.

    Parameters
    ----------
    diameter_mm : float, optional
        Outer diameter of a round post [mm]; counts only where there is neither mark nor figure.
    marked_mm : float, optional
        From the post's lower end to its minimum-insertion mark [mm]; the mark always wins over the rule.
    frame_mm : float, optional
        What the frame's maker asks for [mm]; where both are known the larger counts.

    Raises
    ------
    InsertionError
        If nothing is known: a one-piece mast or an unmarked post of another shape has no general rule.
    OutOfLimitsError, NotANumberError
        If a figure is implausible.

    References
    ----------
    16 CFR 1512.15(b): the mark stands at least two post diameters from the shaft's lowest point.

    Examples
    --------
    >>> least_insertion(27.2).least_mm
    54.4
    >>> least_insertion(27.2, marked_mm=90.0).least_mm
    90.0
    """
    stated = [
        Insertion(check_limits(what, value, LENGTH_LIMITS), source)
        for what, value, source in (
            ("Mark", marked_mm, "minimum-insertion mark on the post"),
            ("Frame", frame_mm, "figure of the frame's maker"),
        )
        if value is not None
    ]
    if stated:
        return max(stated, key=lambda each: each.least_mm)
    if diameter_mm is None:
        sentence = "Without a mark, a maker's figure or a round post's diameter the least insertion is not known."
        raise InsertionError(sentence, value=0.0, short_mm=0.0)
    diameter = check_limits("Post diameter", diameter_mm, DIAMETER_LIMITS)
    return Insertion(DIAMETERS_WITHOUT_MARK * diameter, "two post diameters, 16 CFR 1512.15(b), as there is no mark")


def check_insertion(inserted_mm: float, least: Insertion) -> float:
    """Return how far the post could still be raised [mm].

    Raises
    ------
    InsertionError
        If the post is not far enough inside; ``short_mm`` says by how much.
    NotANumberError, OutOfLimitsError
        If the insertion is implausible.

    Examples
    --------
    >>> check_insertion(80.0, least_insertion(27.2))
    25.6
    """
    inserted = check_limits("Inserted length", check_number("Inserted length", inserted_mm), LENGTH_LIMITS)
    short = least.least_mm - inserted
    if short > 0:
        sentence = (
            f"The post must go {number_words(round(short, 1), 'mm')} further in: {number_words(least.least_mm, 'mm')} "
            f"at least ({least.source}). It is not ridden until then."
        )
        raise InsertionError(sentence, value=inserted, short_mm=short)
    return round(-short, 6)


def is_inserted(inserted_mm: float, least: Insertion) -> bool:
    """Return whether the post is far enough inside."""
    try:
        check_insertion(inserted_mm, least)
    except (InsertionError, OutOfLimitsError):
        return False
    return True
