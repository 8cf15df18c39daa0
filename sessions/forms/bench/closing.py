"""The closing of a session: how it feels now, the safety list, what ate time."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.edge.people import LineField
from intake.models import Discomfort
from intake.selectors.discomfort import Place
from sessions.forms.bench.details import TOO_LONG, UNPRINTABLE, NoteField
from sessions.forms.bench.measures import RowForm
from sessions.models import SafetyEntry, TimeLoss
from sessions.models.fits import SafetyState
from sessions.safety import SafetyLine, open_because
from sessions.torque import torque_hint

SCORES = [(number, str(number)) for number in range(11)]
CHOOSE_SCORE = gettext_lazy("Choose a number from 0 to 10.")
MOST_MINUTES = 600


class FeelsNowForm(RowForm):
    """How one place feels after the changes."""

    score = forms.TypedChoiceField(
        choices=SCORES,
        coerce=int,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect(attrs={"class": "scale"}),
        error_messages={"invalid_choice": CHOOSE_SCORE},
    )

    def __init__(self, place: Place, *, before: Discomfort | None, row: Discomfort | None, data: object = None) -> None:
        """Build the scale of one place; it says what was said before."""
        self.place = place
        super().__init__(data, prefix=f"now-{place.key}", initial={"score": row.score} if row else {})
        self.fields["score"].label = place.label
        if before is not None:
            self.fields["score"].help_text = _("Before: %(score)d of 10.") % {"score": before.score}


class NewPlaceForm(RowForm):
    """A place that was not spoken of before the session."""

    where = forms.ChoiceField(
        label=gettext_lazy("Somewhere else"),
        error_messages=dict.fromkeys(("required", "invalid_choice"), gettext_lazy("Choose where.")),
    )
    score = forms.TypedChoiceField(
        label=gettext_lazy("0 is nothing, 10 is the worst imaginable"),
        choices=SCORES,
        coerce=int,
        widget=forms.RadioSelect(attrs={"class": "scale"}),
        error_messages=dict.fromkeys(("required", "invalid_choice"), CHOOSE_SCORE),
    )

    def __init__(self, places: list[Place], *, data: object = None) -> None:
        """Offer these places."""
        self.places = {place.key: place for place in places}
        super().__init__(data, prefix="new-place")
        self.fields["where"].choices = [("", _("Choose a place")), *((key, p.label) for key, p in self.places.items())]

    @property
    def chosen(self) -> Place:
        """Return the place of a valid form."""
        return self.places[self.cleaned_data["where"]]


class SafetyForm(RowForm):
    """One line of the safety list. ``closing`` also refuses what may be kept but is not settled yet."""

    state = forms.ChoiceField(
        choices=SafetyState.choices,
        widget=forms.RadioSelect(attrs={"class": "inline"}),
        error_messages=dict.fromkeys(
            ("required", "invalid_choice"), gettext_lazy("Choose one of the three, so that this line is kept.")
        ),
    )
    torque_as_printed = NoteField(
        label=gettext_lazy("Torque as printed on the part"),
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "off", "placeholder": "5 N·m"}),
    )
    note = NoteField(label=gettext_lazy("Note"), max_length=300, widget=forms.TextInput(attrs={"autocomplete": "off"}))

    def __init__(
        self, line: SafetyLine, *, entry: SafetyEntry | None = None, closing: bool = False, data: object = None
    ) -> None:
        """Build the row of one line."""
        self.line, self.entry, self.closing = line, entry, closing
        kept = _entry_values(entry) if entry else {}
        if closing:
            prefixed = {f"safety-{line.key}-{name}": value for name, value in kept.items()}
            data = prefixed | {f"initial-{name}": value for name, value in prefixed.items()}
        super().__init__(data, prefix=f"safety-{line.key}", initial=kept)
        self.fields["state"].label = line.label
        self.fields["state"].help_text = line.how
        if not line.has_torque:
            del self.fields["torque_as_printed"]

    @property
    def hint(self) -> str:
        """Return what helps to read the stored torque."""
        return torque_hint(self.entry.torque_as_printed) if self.entry else ""

    @property
    def open_because(self) -> object:
        """Return why the line is still open as it is stored, nothing where it is settled."""
        kept = _entry_values(self.entry)
        return open_because(self.line, state=kept["state"], torque=kept["torque_as_printed"], note=kept["note"])

    def clean(self) -> dict[str, object]:
        """Where the record is to be closed, refuse a line that is not settled."""
        cleaned = super().clean()
        reason = self.open_because if self.closing else ""
        if reason:
            self.errors.pop("state", None)
            field = "torque_as_printed" if cleaned.get("state") and self.line.has_torque else "state"
            self.add_error(field, reason)
        return cleaned


def _entry_values(entry: SafetyEntry | None) -> dict[str, str]:
    names = ("state", "torque_as_printed", "note")
    return {name: getattr(entry, name) if entry else "" for name in names}


def minutes_field() -> forms.IntegerField:
    """Return a field for minutes that were lost."""
    field = forms.IntegerField(
        label=gettext_lazy("Minutes"),
        required=False,
        min_value=0,
        max_value=MOST_MINUTES,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "narrow"}),
        error_messages={
            "invalid": gettext_lazy("Type whole minutes, such as 15."),
            "min_value": gettext_lazy("Minutes cannot be less than 0."),
            "max_value": gettext_lazy("That is more than ten hours. Type the minutes that it took."),
        },
    )
    field.unit = gettext_lazy("min")
    return field


class TimeLossForm(RowForm):
    """How long one thing took out of the slot."""

    minutes = minutes_field()
    note = NoteField(label=gettext_lazy("Note"), max_length=300, widget=forms.TextInput(attrs={"autocomplete": "off"}))

    def __init__(self, key: str, label: str, *, row: TimeLoss | None = None, data: object = None) -> None:
        """Build the row of one finding or check; an empty key is anything else."""
        self.key, self.row = key, row
        initial = {"minutes": row.minutes, "note": row.note} if row else {}
        super().__init__(data, prefix=f"lost-{key.replace('.', '-') or 'other'}", initial=initial)
        self.fields["minutes"].label = label

    def clean(self) -> dict[str, object]:
        """Refuse a note without minutes."""
        cleaned = super().clean()
        if cleaned.get("note") and not cleaned.get("minutes") and "minutes" not in self.errors:
            self.add_error("minutes", _("Type the minutes too, or clear the note."))
        return cleaned


class NewTimeLossForm(RowForm):
    """Another part of the bike that ate time, though no finding spoke of it."""

    check = forms.ChoiceField(
        label=gettext_lazy("Something else on the bike"),
        error_messages=dict.fromkeys(("required", "invalid_choice"), gettext_lazy("Choose what it was.")),
    )
    minutes = minutes_field()

    def __init__(self, checks: list[tuple[str, str]], *, data: object = None) -> None:
        """Offer these checks."""
        super().__init__(data, prefix="new-lost")
        self.fields["check"].choices = [("", _("Choose what it was")), *checks]
        self.fields["minutes"].required = True
        self.fields["minutes"].error_messages["required"] = _("Type the minutes that it took.")

    def clean_minutes(self) -> int:
        """Refuse zero: it says nothing here."""
        if self.cleaned_data["minutes"] < 1:
            raise forms.ValidationError(_("Type the minutes that it took."))
        return self.cleaned_data["minutes"]


class ReopenForm(forms.Form):
    """Why a closed record is opened again."""

    note = LineField(
        label=gettext_lazy("What is to be put right?"),
        max_length=300,
        error_messages={"required": gettext_lazy("Say in a few words why."), **UNPRINTABLE, **TOO_LONG},
    )
