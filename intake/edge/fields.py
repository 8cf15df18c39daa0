"""Form fields that both apps use."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from intake.edge.units import LONGEST_TEXT, NotALengthError, parse_length_mm


class LengthField(forms.CharField):
    """A length typed in mm or inches; its clean value is a float in millimetres. ``typed`` text stays in the form.

    Outside ``minimum_mm`` to ``maximum_mm`` it is refused with ``refusal``, a sentence that says why.
    """

    def __init__(
        self, *, minimum_mm: float, maximum_mm: float, refusal: str = "", unit: str = "mm", **kwargs: object
    ) -> None:
        """Keep limits, their reason, and the unit of a bare number."""
        kwargs.setdefault("max_length", LONGEST_TEXT)
        kwargs.setdefault(
            "widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "data-unit": unit})
        )
        super().__init__(**kwargs)
        self.minimum_mm, self.maximum_mm, self.refusal, self.unit = minimum_mm, maximum_mm, refusal, unit

    def clean(self, value: object) -> float | None:
        """Return millimetres, None where nothing was typed, or raise with a reason."""
        text = super().clean(value)
        if not text:
            return None
        try:
            value_mm = parse_length_mm(text, self.unit)
        except NotALengthError as error:
            raise ValidationError(
                _("“%(typed)s” is not a length. Type a number such as 12.5, or 1/2 in."), params={"typed": error.typed}
            ) from error
        if not self.minimum_mm <= value_mm <= self.maximum_mm:
            raise ValidationError(
                self.refusal or _("%(value)s mm cannot be right: it should lie between %(low)s and %(high)s mm."),
                params={"value": f"{value_mm:g}", "low": f"{self.minimum_mm:g}", "high": f"{self.maximum_mm:g}"},
            )
        return value_mm


class SearchField(forms.CharField):
    """A few words to look for; nothing looks for everything."""

    def __init__(self, **kwargs: object) -> None:
        """Take as much as anybody types, and let the browser remember none of it."""
        widget = forms.TextInput(attrs={"type": "search", "autocomplete": "off"})
        super().__init__(required=False, max_length=200, widget=widget, **kwargs)
