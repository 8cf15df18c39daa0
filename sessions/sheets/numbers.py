"""Numbers as they are printed: millimetres or inches, degrees, signed changes, always with the true minus sign."""

import math
from dataclasses import dataclass
from typing import Literal

from sessions.geometry.limits import Unit

MM_PER_INCH = 25.4  # exact, NIST SP 811 appendix B.8
NOTHING = "–"

LengthUnit = Literal["mm", "in"]


@dataclass(frozen=True, slots=True)
class NumberStyle:
    """The unit for lengths, the decimal mark, and how many decimals a length is printed with in either unit."""

    unit: LengthUnit = "mm"
    decimal_mark: str = "."

    @property
    def length_decimals(self) -> int:
        """Decimals of a printed length: 0.1 mm or 0.01 inch."""
        return 1 if self.unit == "mm" else 2

    def length(self, length_mm: float, *, signed: bool = False) -> str:
        """A length without its unit.

        >>> NumberStyle("mm").length(-6.04, signed=True)
        '−6.0'
        >>> NumberStyle("in", ",").length(742)
        '29,21'
        """
        shown = length_mm if self.unit == "mm" else length_mm / MM_PER_INCH
        return self._number(shown, self.length_decimals, signed)

    def angle(self, angle_deg: float, *, signed: bool = False) -> str:
        """An angle with its degree sign.

        >>> NumberStyle().angle(-1.5)
        '−1.5°'
        """
        return self._number(angle_deg, 1, signed) + "°"

    def value(self, unit: Unit, value: float, *, signed: bool = False) -> str:
        """A length or an angle, whichever the unit [mm or deg] says that it is."""
        return self.angle(value, signed=signed) if unit == "deg" else self.length(value, signed=signed)

    def _number(self, value: float, decimals: int, signed: bool) -> str:
        if not math.isfinite(value):
            return NOTHING
        digits = f"{abs(value):.{decimals}f}"
        zero = not digits.strip("0.")
        sign = "" if zero else "−" if value < 0 else "+" if signed else ""
        return sign + digits.replace(".", self.decimal_mark)


METRIC = NumberStyle()
