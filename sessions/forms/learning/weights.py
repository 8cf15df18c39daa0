"""How much the starting estimates weigh."""

from django import forms
from django.utils.translation import gettext_lazy as _

from intake.experience.learning import PriorWeights


def _weight(label: str, help_text: str, unit: str) -> forms.IntegerField:
    wrong = _("Type a whole number from 1 to 1000.")
    field = forms.IntegerField(
        label=label,
        help_text=help_text,
        min_value=1,
        max_value=1000,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "narrow"}),
        error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), wrong),
    )
    field.unit = unit
    return field


class WeightsForm(forms.Form):
    """Two weights, in sessions and in faults."""

    mark_optional = False

    sessions = _weight(
        _("How often a fault is there"),
        _("A starting rate counts as much as this many of your own sessions."),
        _("sessions"),
    )
    faults = _weight(
        _("How long a fault takes"),
        _("Starting minutes count as much as this many faults whose minutes you noted."),
        _("faults"),
    )

    def weights(self) -> PriorWeights:
        """Return the weights of a valid form."""
        return PriorWeights(self.cleaned_data["sessions"], self.cleaned_data["faults"])
