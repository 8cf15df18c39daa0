"""Fields in which an owner types about checks: lines, shares in percent, minutes."""

import math
from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

LONGEST_TITLE, LONGEST_LINE, LONGEST_TEXT, MOST_LINES = 120, 300, 1000, 20


class FigureField(forms.CharField):
    """A number between limits, typed with a point or a comma; its clean value is a float, None where nothing was typed."""

    def __init__(self, *, low: float, high: float, unit: str = "", **kwargs: Any) -> None:
        """Keep the limits and the unit."""
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "narrow"})
        super().__init__(max_length=20, widget=widget, **kwargs)
        self.low, self.high, self.unit = low, high, unit

    def clean(self, value: Any) -> float | None:
        """Read the number."""
        text = str(super().clean(value)).replace(",", ".").removesuffix("%").strip()
        if not text:
            return None
        try:
            number = float(text)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise ValidationError(_("Type a number, such as 12 or 7.5."))
        if not self.low <= number <= self.high:
            limits = {"low": f"{self.low:g}", "high": f"{self.high:g}"}
            raise ValidationError(_("Type a number from %(low)s to %(high)s."), params=limits)
        return number


class PercentField(FigureField):
    """A share typed in percent; its clean value is from 0 to 1."""

    def __init__(self, **kwargs: Any) -> None:
        """Take 0 to 100."""
        super().__init__(low=0, high=100, unit="%", **kwargs)

    def clean(self, value: Any) -> float | None:
        """Read the share."""
        number = super().clean(value)
        return None if number is None else number / 100


class LinesField(forms.CharField):
    """One thing on each line; its clean value is the list of those that are not blank."""

    def __init__(self, **kwargs: Any) -> None:
        """Show a few lines."""
        super().__init__(
            max_length=MOST_LINES * LONGEST_LINE, widget=forms.Textarea(attrs={"rows": 5, "class": "wide"}), **kwargs
        )

    def clean(self, value: Any) -> list[str]:
        """Read the lines."""
        lines = [line.strip() for line in str(super().clean(value)).splitlines() if line.strip()]
        if len(lines) > MOST_LINES:
            raise ValidationError(_("Write at most %(most)s lines."), params={"most": MOST_LINES})
        if any(len(line) > LONGEST_LINE for line in lines):
            raise ValidationError(_("Keep each line under %(most)s letters."), params={"most": LONGEST_LINE})
        return lines


class WordsField(forms.CharField):
    """A sentence or a few; long ones get room."""

    def __init__(self, *, longest: int = LONGEST_TEXT, rows: int = 3, **kwargs: Any) -> None:
        """Choose one line or several by the length allowed."""
        widget = forms.TextInput(attrs={"class": "wide", "autocomplete": "off"})
        if longest > LONGEST_LINE:
            widget = forms.Textarea(attrs={"rows": rows, "class": "wide"})
        super().__init__(max_length=longest, widget=widget, **kwargs)

    def clean(self, value: Any) -> str:
        """Read the words, with one kind of line end."""
        return " ".join(str(super().clean(value)).split())


def as_lines(values: Iterable[str]) -> str:
    """Return a list as it is typed again."""
    return "\n".join(values)


def as_figure(value: float | None) -> str:
    """Return a number as it is typed again; percent of a third has as many digits as anybody means."""
    return "" if value is None else f"{value:.6g}"
