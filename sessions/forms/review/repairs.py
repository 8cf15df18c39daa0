"""The studio's answer to a report that something is put right."""

from django import forms

from sessions.forms.review.decisions import NOT_A_DECISION, RulingForm

CONFIRM, NOT_YET = "confirm", "not_yet"


class RepairAnswerForm(RulingForm):
    """Confirmed or not yet, with a note."""

    ruling = None
    answer = forms.ChoiceField(
        choices=[(CONFIRM, CONFIRM), (NOT_YET, NOT_YET)],
        widget=forms.HiddenInput,
        error_messages=dict.fromkeys(("required", "invalid_choice"), NOT_A_DECISION),
    )

    @property
    def agreed(self) -> bool:
        """Return whether a valid form confirms."""
        return self.cleaned_data["answer"] == CONFIRM
