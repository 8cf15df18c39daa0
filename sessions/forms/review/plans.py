"""What the desk sends when it agrees on a plan."""

from django import forms
from django.utils.translation import gettext_lazy as _

NOT_A_PLAN = _("Choose one of the plans on the page.")


class PlanForm(forms.Form):
    """The key of a plan: its findings, each with a remedy."""

    plan = forms.CharField(
        max_length=8000,
        error_messages=dict.fromkeys(("required", "max_length", "null_characters_not_allowed"), NOT_A_PLAN),
    )
