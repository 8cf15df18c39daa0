"""What a workshop answers about one line."""

from django import forms
from django.utils.translation import gettext_lazy as _

from intake.edge.people import NameField, tidy_line
from intake.models.workshops import JobOutcome
from sessions.forms.keyed import KeyedForm

BIGGEST_KEY = 2**63 - 1


class NoteField(forms.CharField):
    """A few words, kept in one line."""

    def to_python(self, value: object) -> str:
        """Tidy before anything is measured."""
        return tidy_line(super().to_python(value))


class AnswerForm(KeyedForm):
    """Done, needs a part, or cannot be done; ``seen`` is the latest answer that the page showed."""

    outcome = forms.ChoiceField(
        label=_("What is the answer?"),
        choices=[
            (JobOutcome.DONE.value, _("Done")),
            (JobOutcome.NEEDS_PART.value, _("Needs a part")),
            (JobOutcome.CANNOT.value, _("Cannot be done")),
        ],
        widget=forms.RadioSelect(attrs={"class": "inline"}),
        error_messages={
            "required": _("Choose one of the three answers."),
            "invalid_choice": _("Choose one of the three answers."),
        },
    )
    note = NoteField(
        label=_("Note"),
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"max_length": _("Shorten this to %(limit_value)d characters; it has %(show_value)d.")},
    )
    answered_by = NameField(
        label=_("Your name"),
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        error_messages={
            "required": _("Give your name, so that the studio can ask back."),
            "max_length": _("Shorten this to %(limit_value)d characters; it has %(show_value)d."),
        },
    )
    seen = forms.IntegerField(required=False, min_value=0, max_value=BIGGEST_KEY, widget=forms.HiddenInput)

    def seen_answer(self) -> int:
        """Return the latest answer that the page of a valid form showed, 0 for none."""
        return self.cleaned_data["seen"] or 0

    def renew(self, seen: int = 0) -> None:
        """Make this a new form that has seen all answers, with everything typed still in it."""
        super().renew()
        self.data[self.add_prefix("seen")] = str(seen)
