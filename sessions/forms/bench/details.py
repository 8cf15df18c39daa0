"""What else is kept of a session: the rider's body, parts, notes, the next visit."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.edge.people import TURNING, LineField
from intake.models.clients import LengthUnit
from sessions.forms.bench.measures import MeasureField, RowForm, beside, length_refusal, shown
from sessions.forms.keyed import KeyedForm
from sessions.geometry.body import BODY, check_body
from sessions.geometry.errors import MeasureError
from sessions.geometry.insertion import DIAMETER_LIMITS, LENGTH_LIMITS
from sessions.geometry.limits import Limits, check_limits
from sessions.models import BodyMeasure, ComponentChange, FitRecord, PartToOrder
from sessions.models.fits import Component
from sessions.services.bench.errors import TextConflictError

LONGEST_NOTES = 4000
UNPRINTABLE = {
    "null_characters_not_allowed": gettext_lazy(
        "Some of these characters cannot be printed. Please type the text again."
    )
}
TOO_LONG = {"max_length": gettext_lazy("That is too long: %(limit_value)d characters fit, these are %(show_value)d.")}


class NoteField(forms.CharField):
    """Free text: any script, without signs that turn the text around them."""

    def __init__(self, **kwargs: object) -> None:
        """Say in our own words what cannot be kept."""
        kwargs["error_messages"] = {**UNPRINTABLE, **TOO_LONG, **kwargs.get("error_messages", {})}
        super().__init__(required=False, **kwargs)

    def to_python(self, value: object) -> str:
        """Drop turning signs and unify line ends, so that what comes back equals what is stored."""
        return TURNING.sub("", super().to_python(value).replace("\r\n", "\n").replace("\r", "\n"))


class BodyForm(RowForm):
    """A row for one body measure."""

    def __init__(
        self, key: str, *, stored: BodyMeasure | None = None, typed_in: str = LengthUnit.MILLIMETRE, data: object = None
    ) -> None:
        """Build the row around what is stored."""
        self.measure, self.stored = BODY[key], stored
        initial = {"value": shown(stored.value_mm, "mm", typed_in, stored.as_typed)} if stored else {}
        super().__init__(data, prefix=key, initial=initial)
        self.fields["value"] = MeasureField(typed_in=typed_in, label=self.measure.label, help_text=self.measure.how)

    @property
    def is_posted(self) -> bool:
        """Return whether the posted page held this row."""
        return self.add_prefix("value") in self.data

    def clean_value(self) -> float | None:
        """Refuse what no adult measures, with the reason."""
        value_mm = self.cleaned_data["value"]
        if value_mm is None:
            return None
        try:
            return check_body(self.measure.key, value_mm)
        except MeasureError as error:
            limits, typed_in = self.measure.limits, self.fields["value"].typed_in
            sentence = beside(self.measure.label, error.sentence)
            told = length_refusal(sentence, limits.low, limits.high, typed_in, self.typed("value"))
            raise forms.ValidationError(told) from error


class ComponentForm(RowForm):
    """A part that was exchanged or re-set."""

    component = forms.ChoiceField(
        label=gettext_lazy("Part"),
        choices=[("", gettext_lazy("Choose the part")), *Component.choices],
        error_messages={
            "required": gettext_lazy("Choose the part."),
            "invalid_choice": gettext_lazy("Choose a part from the list."),
        },
    )
    was = NoteField(label=gettext_lazy("Before"), max_length=200)
    now = LineField(
        label=gettext_lazy("After"),
        max_length=200,
        error_messages={"required": gettext_lazy("Say what it is now."), **UNPRINTABLE, **TOO_LONG},
    )
    note = NoteField(label=gettext_lazy("Note"), max_length=300)

    @classmethod
    def of(cls, row: ComponentChange, data: object = None) -> "ComponentForm":
        """Return the row's own form."""
        initial = {name: getattr(row, name) for name in ("component", "was", "now", "note")}
        return cls(data, prefix=f"change-{row.pk}", initial=initial)


class PartForm(RowForm):
    """A part that the rider still needs."""

    part = LineField(
        label=gettext_lazy("Part to order"),
        max_length=200,
        error_messages={"required": gettext_lazy("Name the part."), **UNPRINTABLE, **TOO_LONG},
    )
    why = NoteField(label=gettext_lazy("What for"), max_length=300)

    @classmethod
    def of(cls, row: PartToOrder, data: object = None) -> "PartForm":
        """Return the row's own form."""
        return cls(data, prefix=f"part-{row.pk}", initial={"part": row.part, "why": row.why})


class NewComponentForm(KeyedForm, ComponentForm):
    """Adds a part that was exchanged or re-set."""


class NewPartForm(KeyedForm, PartForm):
    """Adds a part to order."""


class NotesForm(RowForm):
    """Notes for the rider."""

    notes = NoteField(
        label=gettext_lazy("Notes for the rider"),
        help_text=gettext_lazy("Printed on the fit sheet."),
        max_length=LONGEST_NOTES,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 5}),
    )

    @property
    def seen(self) -> str:
        """Return the text that the page showed when this change began."""
        return self.fields["notes"].to_python(self.data.get(self.add_initial_prefix("notes"), ""))

    def meet(self, conflict: TextConflictError) -> None:
        """Show what stands there now beside what was typed, and let the next attempt begin from it."""
        self.add_error("notes", str(conflict))
        self.data = self.data.copy()
        self.data[self.add_initial_prefix("notes")] = conflict.theirs


class NextVisitForm(RowForm):
    """When to come again, and what for."""

    follow_up_on = forms.DateField(
        label=gettext_lazy("Next visit"),
        required=False,
        input_formats=["%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y", "%d %B %Y", "%d %b %Y"],
        widget=forms.DateInput(
            format="%Y-%m-%d", attrs={"placeholder": "2026-12-31", "autocomplete": "off", "class": "day"}
        ),
        error_messages={"invalid": gettext_lazy("Write the day as year-month-day, such as 2026-12-31.")},
    )
    follow_up_note = NoteField(label=gettext_lazy("What to look at then"), max_length=300)

    def __init__(self, *args: object, record: FitRecord, earliest: object, latest: object, **kwargs: object) -> None:
        """Start from what is stored; ``earliest`` and ``latest`` are the days that can be meant."""
        self.earliest, self.latest = earliest, latest
        initial = {"follow_up_on": record.follow_up_on, "follow_up_note": record.follow_up_note}
        super().__init__(*args, initial=initial, **kwargs)

    def clean_follow_up_on(self) -> object:
        """Refuse a day before the session, or years away."""
        day = self.cleaned_data["follow_up_on"]
        if day and not self.earliest <= day <= self.latest:
            raise forms.ValidationError(_("Choose a day after the session, within two years."))
        return day


class InsertionForm(forms.Form):
    """Whether a seat post is far enough in the frame."""

    mark_optional = False

    def __init__(self, *args: object, typed_in: str = LengthUnit.MILLIMETRE, **kwargs: object) -> None:
        """Ask for the four lengths."""
        super().__init__(*args, **kwargs)
        asked = {
            "inserted_mm": (_("Inside the frame"), _("From the top of the seat tube to the post's lower end.")),
            "marked_mm": (_("Mark on the post"), _("From the post's lower end up to its minimum-insertion mark.")),
            "frame_mm": (
                _("Frame maker's figure"),
                _("The least insertion that the frame's maker asks for, if known."),
            ),
            "diameter_mm": (_("Post diameter"), _("Counts only where there is neither a mark nor a figure.")),
        }
        for name, (label, how) in asked.items():
            self.fields[name] = MeasureField(typed_in=typed_in, label=label, help_text=how)
            self.fields[name].show_hidden_initial = False

    def clean(self) -> dict[str, object]:
        """Refuse the implausible in the core's words."""
        cleaned = super().clean()
        for name, value in list(cleaned.items()):
            limits = DIAMETER_LIMITS if name == "diameter_mm" else LENGTH_LIMITS
            self._check(name, value, limits)
        if not self.errors and cleaned["inserted_mm"] is None:
            self.add_error("inserted_mm", _("Type how far the post is inside the frame."))
        return cleaned

    def _check(self, name: str, value: float | None, limits: Limits) -> None:
        field = self.fields[name]
        if value is None:
            return
        try:
            check_limits(str(field.label), value, limits)
        except MeasureError as error:
            typed = str(self[name].data or "").strip()
            sentence = beside(str(field.label), error.sentence)
            self.add_error(name, length_refusal(sentence, limits.low, limits.high, field.typed_in, typed))
