"""Millimetres and inches at the edge. Inside the product a length is a float in millimetres with the unit in its name."""

import re
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pint

DECIMAL = r"\d+(?:[.,]\d+)?|[.,]\d+"
FRACTION = r"(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
NUMBER = rf"(?P<sign>[+-])?\s*(?P<whole>{DECIMAL})?(?:(?(whole)\s+|){FRACTION})?"
LENGTH = re.compile(rf"^\s*{NUMBER}\s*(?P<unit>mm|cm|in|inch|inches|″|\"|'')?\s*$", re.IGNORECASE)
UNIT_NAMES = {
    "mm": "mm",
    "cm": "cm",
    "in": "inch",
    "inch": "inch",
    "inches": "inch",
    "″": "inch",
    '"': "inch",
    "''": "inch",
}
VULGAR = {"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8", "−": "-"}
LONGEST_TEXT = 40


class NotALengthError(ValueError):
    """Text that is not a length; carries what was typed."""

    def __init__(self, typed: str) -> None:
        """Keep the text."""
        super().__init__("Type a number such as 12.5, or 1/2 in.")
        self.typed = typed


@cache
def registry() -> "pint.UnitRegistry":
    """Return the one unit registry; building it takes half a second, so nobody pays before a length is converted."""
    import pint  # noqa: PLC0415 - see above

    return pint.UnitRegistry(cache_folder=None)


@cache
def in_mm(unit: str) -> float:
    """Return how many millimetres one unit is.

    >>> in_mm("in")
    25.4
    """
    return float(registry().Quantity(1, UNIT_NAMES[unit]).to("mm").magnitude)


def parse_length_mm(text: str, default_unit: str = "mm") -> float:
    """Return the length in millimetres that a person typed: decimal point or comma, fractions, a unit or none.

    Raises NotALengthError for anything else.

    >>> parse_length_mm("12,5")
    12.5
    >>> parse_length_mm("1 1/2 in")
    38.1
    """
    plain = text
    for sign, words in VULGAR.items():
        plain = plain.replace(sign, words)
    match = LENGTH.match(plain) if len(text) <= LONGEST_TEXT else None
    if match is None or (match["whole"] is None and match["top"] is None):
        raise NotALengthError(text)
    return round(_number(match, text) * in_mm((match["unit"] or default_unit).lower()), 6)


def _number(match: re.Match[str], text: str) -> float:
    size = float((match["whole"] or "0").replace(",", "."))
    if match["top"] is not None:
        if int(match["bottom"]) == 0:
            raise NotALengthError(text)
        size += float(Fraction(int(match["top"]), int(match["bottom"])))
    return -size if match["sign"] == "-" else size


def show_length(value_mm: float, unit: str = "mm", places: int | None = None) -> str:
    """Return a length with its unit as a person reads it: millimetres to 1, inches to 0.01 unless told.

    >>> show_length(38.1, "in")
    '1.50 in'
    >>> show_length(-9.96)
    '−10 mm'
    """
    digits = places if places is not None else (0 if unit == "mm" else 2)
    shown = f"{value_mm / in_mm(unit):.{digits}f}"
    if float(shown) == 0:
        shown = shown.lstrip("-")
    return f"{shown} {unit}".replace("-", "−")
