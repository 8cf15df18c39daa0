"""One form per check, built from the catalogue: its answers as rows to tap, its lengths in the rider's unit, a remark."""

from collections.abc import Iterator, Mapping

from django import forms
from django.core.exceptions import ValidationError
from django.forms.utils import ErrorList
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.catalogue.schema import MEASURED, Check, NumberField
from intake.edge.fields import LengthField
from intake.edge.refusals import has_refusals, slots
from intake.edge.units import show_length
from intake.edge.words import UNIT_LABELS, answer_labels, could_not_words, typed_length
from intake.models import CheckAnswer
from intake.models.clients import LengthUnit

MISSING = "missing"
LONGEST_NOTE = 500


class CheckLengthField(LengthField):
    """A length that a check asks for; a bare number is in the rider's unit."""

    def __init__(self, number: NumberField, unit: str) -> None:
        """Take limits and their reason from the catalogue."""
        super().__init__(
            label=number.label,
            required=False,
            minimum_mm=number.minimum_mm,
            maximum_mm=number.maximum_mm,
            refusal=_refusal(number, unit),
            unit=unit,
        )
        self.unit = UNIT_LABELS[unit]
        self.widget.attrs["class"] = "narrow"


def _refusal(number: NumberField, unit: str) -> str:
    if unit == LengthUnit.MILLIMETRE:
        return number.refusal
    limits = {"low": show_length(number.minimum_mm, unit), "high": show_length(number.maximum_mm, unit)}
    return f"{number.refusal} " + _("In inches: from %(low)s to %(high)s.") % limits


class AnswerForm(forms.Form):
    """An answer to one check. ``mark_optional`` is off: which parts are needed depends on each other."""

    mark_optional = False
    check: Check

    option = forms.ChoiceField(
        label="",
        required=False,
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": gettext_lazy("Choose one of the answers below.")},
    )
    note = forms.CharField(
        label=gettext_lazy("Anything the studio should know about this? (optional)"),
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 2, "class": "remark"}),
    )
    unit = forms.ChoiceField(choices=LengthUnit.choices, required=False, widget=forms.HiddenInput)

    def __init__(self, check: Check, *, unit: str, stored: CheckAnswer | None = None, **kwargs: object) -> None:
        """Build the fields of one check around what is stored; ``unit`` is that of the rider."""
        self.check, self.stored = check, stored
        prefix = kwargs.setdefault("prefix", check.key)
        self.length_unit = posted_unit(kwargs.get("data"), prefix) or unit
        super().__init__(initial=_initial(check, stored, self.length_unit), **kwargs)
        choice = self.fields["option"]
        choice.label, choice.hide_label = check.question, True
        choice.choices = list(answer_labels(check).items())
        self.fields.update({number.key: CheckLengthField(number, self.length_unit) for number in check.numbers})

    def lengths(self) -> Iterator[forms.BoundField]:
        """Yield the fields of the lengths."""
        return (self[number.key] for number in self.check.numbers)

    def clean(self) -> dict[str, object]:
        """Leave a length whose text was not touched as it is stored, and ask for what is missing."""
        cleaned = super().clean()
        for number in self.check.numbers:
            if number.key in cleaned and number.key not in self.changed_data and self.stored:
                cleaned[number.key] = self.stored.readable_lengths_mm().get(number.key)
        self._settle_measured(cleaned)
        return cleaned

    def _settle_measured(self, cleaned: dict[str, object]) -> None:
        option, given = cleaned.get("option"), self.lengths_mm
        if not option and given and MEASURED in {each.key for each in self.check.options}:
            cleaned["option"] = option = MEASURED
        missing = [number.key for number in self.check.numbers if number.key not in given]
        if option == MEASURED:
            for key in missing:
                if key not in self.errors:
                    self.add_error(
                        key, ValidationError(_("Type this length too, or choose another answer."), code=MISSING)
                    )
        elif not option and "option" not in self.errors and (missing or not self.check.numbers):
            words = _("Choose an answer. “%(could_not)s” is one as well.") % {"could_not": could_not_words(self.check)}
            self.add_error("option", ValidationError(words, code=MISSING))

    @property
    def lengths_mm(self) -> dict[str, float]:
        """Return the lengths that were given and accepted [mm]."""
        values = {number.key: self.cleaned_data.get(number.key) for number in self.check.numbers}
        return {key: value for key, value in values.items() if value is not None}

    @property
    def has_refusals(self) -> bool:
        """Return whether something that was typed or chosen cannot be kept, other than something that is still missing."""
        return has_refusals(self)

    @property
    def slots(self) -> list[tuple[str, ErrorList]]:
        """Return what to say beside each typed field after it saved itself."""
        return slots(self, [*(number.key for number in self.check.numbers), "note"])

    @property
    def kept_option(self) -> str:
        """Return the option to store: nothing while its lengths are missing, what stood there where this one is refused."""
        if self.has_error("option", "invalid_choice"):
            return self.stored.option if self.stored else ""
        option = self.cleaned_data.get("option", "")
        return "" if option == MEASURED and len(self.lengths_mm) < len(self.check.numbers) else option

    @property
    def kept_lengths_mm(self) -> dict[str, float]:
        """Return the lengths to store: what was accepted, and for a refused one what stood there before [mm]."""
        before = self.stored.readable_lengths_mm() if self.stored else {}
        refused = {key: before[key] for key in before if key in self.errors and not self.has_error(key, MISSING)}
        return refused | self.lengths_mm

    @property
    def kept_note(self) -> str:
        """Return the remark to store."""
        if "note" in self.errors:
            return self.stored.note if self.stored else ""
        return self.cleaned_data["note"]

    @property
    def keeps_something(self) -> bool:
        """Return whether there is anything to store."""
        return bool(self.kept_option or self.kept_lengths_mm or self.kept_note)


def posted_unit(data: Mapping[str, str] | None, prefix: str) -> str:
    """Return the unit that the posted page showed, or nothing where it names none that is known."""
    unit = (data or {}).get(f"{prefix}-unit", "")
    return unit if unit in LengthUnit.values else ""


def _initial(check: Check, stored: CheckAnswer | None, unit: str) -> dict[str, object]:
    if stored is None:
        return {"unit": unit}
    asked = {number.key for number in check.numbers}
    lengths = {key: typed_length(mm, unit) for key, mm in stored.readable_lengths_mm().items() if key in asked}
    return {"option": stored.option, "note": stored.note, "unit": unit, **lengths}
