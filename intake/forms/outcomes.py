"""Whether a complaint has changed after a repair: ridden since, and the same number from 0 to 10 as before."""

from django import forms
from django.utils.translation import gettext_lazy as _

from intake.models import ComplaintOutcome

CHOOSE = _("Choose a number from 0 to 10.")


class OutcomeForm(forms.Form):
    """What is said of one place."""

    mark_optional = False
    rode = forms.ChoiceField(
        label=_("Have you ridden since it was put right?"),
        choices=[("yes", _("Yes")), ("no", _("Not yet"))],
        widget=forms.RadioSelect(attrs={"class": "inline"}),
        error_messages=dict.fromkeys(("required", "invalid_choice"), _("Say whether you have ridden since.")),
    )
    score_now = forms.TypedChoiceField(
        label=_("How much does it trouble you now?"),
        help_text=_("0 is nothing, 10 is the worst you can imagine. Leave it out if you have not ridden yet."),
        choices=[(number, str(number)) for number in range(11)],
        coerce=int,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect(attrs={"class": "scale"}),
        error_messages={"invalid_choice": CHOOSE},
    )

    def __init__(self, *, last: ComplaintOutcome | None, **kwargs: object) -> None:
        """Start from what was said last."""
        said = {"rode": "yes" if last.rode else "no", "score_now": last.score_now} if last else {}
        super().__init__(initial=said, **kwargs)

    def clean(self) -> dict[str, object]:
        """Ask for the number after a ride."""
        given = super().clean()
        if given.get("rode") == "yes" and given.get("score_now") is None and not self.has_error("score_now"):
            self.add_error("score_now", CHOOSE)
        return given

    def said(self) -> int | None:
        """Return the number of a valid form, None before a ride."""
        return self.cleaned_data["score_now"] if self.cleaned_data["rode"] == "yes" else None
