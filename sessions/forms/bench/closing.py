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
ONE_TAP_MIN = (5, 10, 15, 20, 30, 45, 60)


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


def one_tap_field(*, none: bool) -> forms.ChoiceField:
    """Return the usual minutes as large choices; ``none`` also offers that it took none."""
    choices = [("0", gettext_lazy("none"))] if none else []
    return forms.ChoiceField(
        label=gettext_lazy("Minutes"),
        required=False,
        choices=[*choices, *((str(minutes), str(minutes)) for minutes in ONE_TAP_MIN)],
        widget=forms.RadioSelect(attrs={"class": "minutes"}),
        error_messages={"invalid_choice": gettext_lazy("Choose one of these, or type the minutes.")},
    )


def own_figure_field() -> forms.IntegerField:
    """Return the field for minutes that are none of the usual."""
    field = minutes_field()
    field.label = gettext_lazy("or exactly")
    return field


class MinutesForm(RowForm):
    """Minutes by one tap or by typing: whichever was touched holds, and what was typed where both were."""

    def chosen_minutes(self, cleaned: dict[str, object]) -> int | None:
        """Return the minutes that were meant."""
        one_tap, typed = cleaned.get("one_tap"), cleaned.get("minutes")
        tapped = one_tap and "one_tap" in self.changed_data
        return int(one_tap) if tapped and ("minutes" not in self.changed_data or typed is None) else typed


class TimeLossForm(MinutesForm):
    """How long one thing took out of the slot."""

    is_shown_whole = True
    one_tap = one_tap_field(none=True)
    minutes = own_figure_field()
    note = NoteField(label=gettext_lazy("Note"), max_length=300, widget=forms.TextInput(attrs={"autocomplete": "off"}))

    def __init__(self, key: str, label: str, *, row: TimeLoss | None = None, data: object = None) -> None:
        """Build the row of one finding or check; an empty key is anything else."""
        self.key, self.row, self.label = key, row, label
        initial = {"minutes": row.minutes, "note": row.note} if row else {}
        if row and row.minutes in ONE_TAP_MIN:
            initial["one_tap"] = str(row.minutes)
        super().__init__(data, prefix=f"lost-{key.replace('.', '-') or 'other'}", initial=initial)
        self.fields["one_tap"].label = label

    def clean(self) -> dict[str, object]:
        """Take the minutes that were meant, and refuse a note without any."""
        cleaned = super().clean()
        if "minutes" not in self.errors:
            cleaned["minutes"] = self.chosen_minutes(cleaned)
        if cleaned.get("note") and not cleaned.get("minutes") and "minutes" not in self.errors:
            self.add_error("minutes", _("Type the minutes too, or clear the note."))
        return cleaned


class NewTimeLossForm(MinutesForm):
    """Another part of the bike that ate time, though no finding spoke of it."""

    check = forms.ChoiceField(
        label=gettext_lazy("What was it?"),
        error_messages=dict.fromkeys(("required", "invalid_choice"), gettext_lazy("Choose what it was.")),
    )
    one_tap = one_tap_field(none=False)
    minutes = own_figure_field()

    def __init__(self, groups: list[tuple[str, list[tuple[str, str]]]], *, data: object = None) -> None:
        """Offer these faults, group by group."""
        super().__init__(data, prefix="new-lost")
        self.fields["check"].choices = [("", _("Choose what it was")), *groups]

    def clean(self) -> dict[str, object]:
        """Take the minutes that were meant; none say nothing here."""
        cleaned = super().clean()
        if "minutes" not in self.errors:
            cleaned["minutes"] = self.chosen_minutes(cleaned)
            if not cleaned["minutes"]:
                self.add_error("minutes", _("Choose or type the minutes that it took."))
        return cleaned


class ReopenForm(forms.Form):
    """Why a closed record is opened again."""

    note = LineField(
        label=gettext_lazy("What is to be put right?"),
        max_length=300,
        error_messages={"required": gettext_lazy("Say in a few words why."), **UNPRINTABLE, **TOO_LONG},
    )
