"""Numbers with a unit, as they are typed at the bench, and the rows that save by themselves."""

import re
from collections.abc import Iterator

from django import forms
from django.core.exceptions import ValidationError
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.edge.units import LONGEST_TEXT, NotALengthError, parse_length_mm
from intake.edge.words import UNIT_LABELS, typed_length
from intake.models.clients import LengthUnit

ANGLE = re.compile(r"^(?P<number>[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(?:°|deg|degrees?)?$", re.IGNORECASE)
# Marks that only turn text around; a keyboard set to Arabic or Hebrew puts them beside digits.
INVISIBLE = str.maketrans("", "", "\u200e\u200f\u061c\u2066\u2067\u2068\u2069\u202a\u202b\u202c\u202d\u202e")


class NotAnAngleError(ValueError):
    """Text that is not an angle."""


def parse_angle_deg(text: str) -> float:
    """Return the angle in degrees that a person typed.

    >>> parse_angle_deg("−1,5°")
    -1.5
    """
    match = ANGLE.match(text.replace("−", "-").strip()) if len(text) <= LONGEST_TEXT else None
    if match is None:
        raise NotAnAngleError(text)
    return float(match["number"].replace(",", "."))


def posted_unit(data: object, fallback: str) -> str:
    """Return the unit that the posted page showed, or the fallback where it names none that is known."""
    unit = data.get("unit", "") if hasattr(data, "get") else ""
    return unit if unit in LengthUnit.values else fallback


class MeasureField(forms.CharField):
    """A length or an angle as text; its clean value is a float [mm or deg], None where nothing was typed.

    ``kind`` is "mm" for lengths of either unit, "deg" for angles; ``typed_in`` is the unit of a bare number.
    """

    default_error_messages = {
        "max_length": gettext_lazy("That is far too long for a number."),
        "length": gettext_lazy("“%(typed)s” is not a length. Type a number such as 734, 73.4 cm or 28 7/8 in."),
        "angle": gettext_lazy("“%(typed)s” is not an angle. Type degrees such as −1.5."),
        "null_characters_not_allowed": gettext_lazy("Some of these characters cannot be printed. Type it again."),
    }

    def __init__(self, *, kind: str = "mm", typed_in: str = LengthUnit.MILLIMETRE, **kwargs: object) -> None:
        """Keep the unit of a bare number, and show it."""
        attrs = {"inputmode": "decimal", "autocomplete": "off", "class": "narrow"}
        super().__init__(
            required=False,
            max_length=LONGEST_TEXT,
            widget=forms.TextInput(attrs=attrs),
            show_hidden_initial=True,
            **kwargs,
        )
        self.kind, self.typed_in = kind, typed_in
        self.unit = "°" if kind == "deg" else UNIT_LABELS[typed_in]

    def to_python(self, value: object) -> str:
        """Drop what nobody sees."""
        return super().to_python(value).translate(INVISIBLE).strip()

    def clean(self, value: object) -> float | None:
        """Return the number, or refuse the text."""
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_angle_deg(text) if self.kind == "deg" else parse_length_mm(text, self.typed_in)
        except (NotALengthError, NotAnAngleError) as error:
            code = "angle" if self.kind == "deg" else "length"
            raise ValidationError(self.error_messages[code], code=code, params={"typed": text}) from error


def shown(value: float, kind: str, typed_in: str, as_typed: str = "") -> str:
    """Return a stored number as it is typed again: as it was typed where that still says the same, else in the page's unit.

    >>> shown(733.425, "mm", "mm", "28 7/8 in")
    '28 7/8 in'
    >>> shown(734.0, "mm", "in", "734")
    '28.898'
    """
    if kind == "deg":
        return f"{value:g}".replace("-", "−")
    try:
        still = bool(as_typed) and parse_length_mm(as_typed.translate(INVISIBLE), typed_in) == value
    except NotALengthError:
        still = False
    return as_typed if still else typed_length(value, typed_in).replace("-", "−")


def beside(label: str, sentence: str) -> str:
    """Return the core's sentence as it stands beside its own field, which bears the name already.

    >>> beside("Inseam", "Inseam: enter a number.")
    'Enter a number.'
    """
    plain = sentence.removeprefix(f"{label}: ")
    return plain[:1].upper() + plain[1:]


def length_refusal(sentence: str, low_mm: float, high_mm: float, typed_in: str, number: str = "") -> str:
    """Return the core's sentence on a length, with its limits in inches where the page shows inches."""
    if typed_in != LengthUnit.INCH:
        return sentence
    low, high = (typed_length(limit, typed_in).replace("-", "−") for limit in (low_mm, high_mm))
    told = f"{sentence} " + _("In inches: from %(low)s to %(high)s.") % {"low": low, "high": high}
    try:
        in_mm = float(number.replace(",", "."))
    except ValueError:
        return told
    if low_mm <= in_mm <= high_mm:
        told += " " + _("%(number)s looks like millimetres: type %(number)s mm.") % {"number": number}
    return told


class RowForm(forms.Form):
    """A small form that saves by itself. What the page showed goes along, so that only what was changed there is kept."""

    mark_optional = False
    is_shown_whole = False  # after it was kept: where one field follows another

    def __init__(self, *args: object, **kwargs: object) -> None:
        """Let every field carry what it showed; fields that a subclass adds later see to it themselves."""
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.show_hidden_initial = True

    @property
    def row_id(self) -> str:
        """Return the id of the element that holds the row."""
        return f"row-{self.prefix}"

    @property
    def was_refused(self) -> bool:
        """Return whether the posted page showed this row with an error."""
        return bool(self.data.get(f"{self.prefix}-refused"))

    @property
    def changed(self) -> dict[str, object]:
        """Return the accepted values of what was changed on the page."""
        return {name: self.cleaned_data[name] for name in self.changed_data if name in self.cleaned_data}

    def typed(self, name: str) -> str:
        """Return the text of a field as it was typed, within what a row can keep."""
        return str(self[name].data or "").translate(INVISIBLE).strip()[:LONGEST_TEXT]

    def shown_anew(self) -> Iterator[SafeString]:
        """Yield the hidden fields that tell what the page shows now, to take the place of the old ones."""
        swap = {"hx-swap-oob": "true"}
        return (field.as_hidden(attrs=swap, only_initial=True) for field in self)
