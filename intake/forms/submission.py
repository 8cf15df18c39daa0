"""What the rider wants to say when the check is handed in."""

from django import forms
from django.utils.translation import gettext_lazy as _


class SubmissionForm(forms.Form):
    """A free text to the studio."""

    note = forms.CharField(
        label=_("Is there anything else the studio should know?"),
        help_text=_("What you hope for, what you have tried, when you can be reached."),
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )
