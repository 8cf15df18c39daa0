"""One reading at the bench: the value, what took it, how well it is known, or that nothing was touched."""

from collections.abc import Mapping

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.models.clients import LengthUnit
from intake.models.previsit import Phase
from sessions.forms.bench.measures import MeasureField, RowForm, beside, length_refusal, shown
from sessions.geometry.errors import BadSigmaError, MeasureError, OutOfLimitsError
from sessions.models import Reading
from sessions.quantities import Quantity
from sessions.selectors.bench.positions import UNCHANGED
from sessions.services.bench.readings import Given, Taken, Without
from sessions.tape.errors import BadReadingError
from sessions.tape.readings import Instrument

INSTRUMENT_LABELS: Mapping[Instrument, object] = {
    Instrument.TAPE: gettext_lazy("tape"),
    Instrument.PLUMB: gettext_lazy("plumb line"),
    Instrument.JIG: gettext_lazy("jig"),
    Instrument.LASER: gettext_lazy("laser"),
    Instrument.MARKED: gettext_lazy("marked"),
    Instrument.LEVEL: gettext_lazy("level"),
    Instrument.GONIOMETER: gettext_lazy("goniometer"),
    Instrument.INCLINOMETER: gettext_lazy("inclinometer"),
}


class ReadingForm(RowForm):
    """A row for one quantity in one phase, around the reading that is in force."""

    instrument = forms.ChoiceField(
        label=gettext_lazy("Taken with"),
        required=False,
        error_messages={"invalid_choice": gettext_lazy("Choose one of the instruments.")},
    )
    untouched = forms.BooleanField(required=False)

    def __init__(
        self,
        quantity: Quantity,
        phase: str,
        *,
        stored: Reading | None = None,
        before: Reading | None = None,
        typed_in: str = LengthUnit.MILLIMETRE,
        data: object = None,
    ) -> None:
        """Build the row. ``before`` is the reading before the changes, where this one is after them."""
        self.quantity, self.phase, self.stored, self.before = quantity, phase, stored, before
        initial = _initial(quantity, stored, typed_in)
        super().__init__(data, prefix=quantity.slug, initial=initial)
        self.fields["instrument"].choices = [(each.value, INSTRUMENT_LABELS[each]) for each in quantity.instruments]
        self._add_measures(typed_in)
        if phase != Phase.AFTER or before is None:
            del self.fields["untouched"]
        else:
            value = shown(before.value, quantity.unit, typed_in)
            gap = "" if quantity.unit == "deg" else "\N{NO-BREAK SPACE}"
            told = f"{value}{gap}{self.fields['value'].unit}"
            self.fields["untouched"].label = _("Not touched: %(value)s") % {"value": told}

    def _add_measures(self, typed_in: str) -> None:
        kind = self.quantity.unit
        self.fields["value"] = MeasureField(kind=kind, typed_in=typed_in, label=self.quantity.label)
        self.fields["sigma"] = MeasureField(
            kind=kind,
            typed_in=typed_in,
            label=_("Uncertainty (one sigma)"),
            help_text=_("Left empty, it is the instrument's usual one."),
        )
        self.order_fields(["value", "untouched", "instrument", "sigma"])

    @property
    def is_posted(self) -> bool:
        """Return whether the posted page held this row."""
        return self.add_prefix("value") in self.data

    def clean(self) -> dict[str, object]:
        """Settle what is said: a reading, none, or that nothing was touched."""
        cleaned = super().clean()
        self.given: Given = Without.CLEARED
        if self._says_untouched(cleaned):
            self.given = Without.UNCHANGED
        elif "value" in cleaned and "sigma" in cleaned and "instrument" in cleaned:
            self._settle(cleaned)
        return cleaned

    def _says_untouched(self, cleaned: Mapping[str, object]) -> bool:
        """Return whether the tick stands. What was measured anew outweighs it."""
        is_new_value = "value" in self.changed_data and self.typed("value")
        return bool(cleaned.get("untouched")) and not is_new_value

    def _settle(self, cleaned: Mapping[str, object]) -> None:
        value = self._number(cleaned, "value")
        if value is None:
            if cleaned["sigma"] is not None and self.stored is None:
                self.add_error("value", _("Type the reading too: its uncertainty alone says nothing."))
            return
        instrument = Instrument(cleaned["instrument"] or self.quantity.instrument)
        try:
            reading = self.quantity.reading(value, sigma=self._number(cleaned, "sigma"), instrument=instrument)
        except MeasureError as error:
            self._refuse(error)
            return
        self.given = Taken(reading.value, reading.sigma, instrument.value, self._as_typed())

    def _number(self, cleaned: Mapping[str, object], name: str) -> float | None:
        # A text that was left alone stands for the number that is stored, to the last digit.
        kept = self.stored if self.stored is not None and self.stored.instrument != UNCHANGED else None
        if name not in self.changed_data and kept is not None and cleaned[name] is not None:
            return getattr(kept, name)
        return cleaned[name]

    def _as_typed(self) -> str:
        if "value" not in self.changed_data and self.stored is not None:
            return self.stored.as_typed
        return self.typed("value")

    def _refuse(self, error: MeasureError) -> None:
        if isinstance(error, BadSigmaError | BadReadingError):
            self.add_error("sigma", beside(self.quantity.label, error.sentence))
            return
        sentence = beside(self.quantity.label, error.sentence)
        if isinstance(error, OutOfLimitsError) and self.quantity.unit == "mm":
            typed_in = self.fields["value"].typed_in
            sentence = length_refusal(sentence, error.low, error.high, typed_in, self.typed("value"))
        self.add_error("value", sentence)


def _initial(quantity: Quantity, stored: Reading | None, typed_in: str) -> dict[str, object]:
    usual = {"instrument": quantity.instrument.value}
    if stored is None:
        return usual
    if stored.instrument == UNCHANGED:
        return {**usual, "untouched": True}
    instrument = instrument_of(quantity, stored)
    sigma = ""
    if stored.sigma != quantity.sigma_of(instrument):
        sigma = shown(stored.sigma, quantity.unit, typed_in)
    value = shown(stored.value, quantity.unit, typed_in, stored.as_typed)
    return {"value": value, "instrument": instrument.value, "sigma": sigma}


def instrument_of(quantity: Quantity, stored: Reading | None) -> Instrument:
    """Return the instrument of a stored reading, the usual one where there is none or where nothing was measured anew."""
    name = stored.instrument if stored else ""
    return next((each for each in quantity.instruments if each.value == name), quantity.instrument)


class PitchForm(RowForm):
    """How the bike stood on the trainer."""

    pitch_deg = MeasureField(
        kind="deg",
        label=gettext_lazy("Pitch on the trainer"),
        help_text=gettext_lazy(
            "How far the front stood up, by level along both axles; down is negative. 0 where both wheels stood level."
        ),
    )

    def clean_pitch_deg(self) -> float:
        """Take nothing as level, and refuse what no trainer does."""
        pitch_deg = self.cleaned_data["pitch_deg"] or 0.0
        if not -10 <= pitch_deg <= 10:
            raise forms.ValidationError(
                _("A bike on a trainer stands within 10° of level. Level it first, or check the sign.")
            )
        return pitch_deg


class UnitForm(forms.Form):
    """The unit in which the bench shows and reads lengths."""

    unit = forms.ChoiceField(choices=LengthUnit.choices)
