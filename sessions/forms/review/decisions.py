"""What the desk sends when it decides about a finding or a red flag, and which sessions its list shows."""

from django import forms
from django.utils.translation import gettext_lazy as _

from intake.triage.answers import Ruling
from intake.triage.verdict import Verdict

TAKE_BACK = "take_back"
LONGEST_NOTE = 500
NOT_A_DECISION = _("Choose one of the decisions on the page.")


class ReviewFilterForm(forms.Form):
    """Which sessions the list shows."""

    show = forms.ChoiceField(
        required=False, choices=[("due", _("Needs a decision")), ("all", _("All coming sessions"))]
    )
    verdict = forms.ChoiceField(required=False, choices=[(verdict.value, verdict.value) for verdict in Verdict])


class NoteField(forms.CharField):
    """A few lines for the record. A text area, so that Enter makes a line and decides nothing."""

    def __init__(self, **kwargs: object) -> None:
        """Say in our words that a note is too long."""
        messages = {"max_length": _("Shorten this to %(limit_value)d characters; it has %(show_value)d.")}
        super().__init__(
            max_length=LONGEST_NOTE,
            widget=forms.Textarea(attrs={"rows": 2}),
            error_messages=messages | kwargs.pop("error_messages", {}),
            **kwargs,
        )


class RulingForm(forms.Form):
    """A decision on one finding, or on a check without an answer."""

    mark_optional = False
    finding = forms.CharField(
        max_length=121,
        widget=forms.HiddenInput,
        error_messages={"required": NOT_A_DECISION, "max_length": NOT_A_DECISION},
    )
    ruling = forms.ChoiceField(
        choices=[*((ruling.value, ruling.value) for ruling in Ruling), (TAKE_BACK, TAKE_BACK)],
        widget=forms.HiddenInput,
        error_messages={"required": NOT_A_DECISION, "invalid_choice": NOT_A_DECISION},
    )
    note = NoteField(label=_("Note for the record"), required=False)

    def chosen(self) -> Ruling | None:
        """Return the decision of a valid form, None where the last one is taken back."""
        ruling = self.cleaned_data["ruling"]
        return None if ruling == TAKE_BACK else Ruling(ruling)


class RedFlagForm(forms.Form):
    """What was agreed with the rider about the red flags that the page showed: ``seen`` holds their keys."""

    seen = forms.CharField(max_length=2000, required=False, widget=forms.HiddenInput)
    note = NoteField(
        label=_("What was agreed with the rider"),
        help_text=_("Kept with your name and the time. The session can be confirmed after that."),
        error_messages={"required": _("Note in a few words what was agreed, or why nothing could be.")},
    )

    def keys_seen(self) -> frozenset[str]:
        """Return the keys of the flags that the page showed."""
        return frozenset(self.cleaned_data["seen"].split())

    def renew(self, seen: str) -> None:
        """Let the form, shown again with its errors, stand for the flags as they are now."""
        self.data = self.data.copy()
        self.data["seen"] = seen


class ConfirmForm(forms.Form):
    """The wish to confirm the session, nothing else."""
