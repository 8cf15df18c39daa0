"""From where a studio's verdicts change."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from fitstudio.catalogue.forms.fields import PercentField, as_figure
from intake.triage.answers import Thresholds
from sessions.models import Studio
from sessions.models.studios import THRESHOLDS

NEEDED = {"required": _("Type a share in percent; the default stands in the help.")}
WORDS = {
    "least_chance": (
        _("Least chance to run to plan"),
        _("Below it, and with known faults to blame, a session is “fix first”. Higher: stricter."),
    ),
    "ask_gain": (
        _("Spread that is worth a question"),
        _(
            "When the best and the worst answers still open lie further apart than this, the rider is asked. Higher: fewer questions."
        ),
    ),
    "unsure_locked": (
        _("Doubt that is worth a question"),
        _(
            "From this chance on, a possible fault that would lock something essential is asked about. Higher: fewer questions."
        ),
    ),
    "probably_locked": (
        _("Doubt that counts as sure"),
        _("From this chance on, a doubtful answer counts as a fault. Higher: doubtful bikes come as they are."),
    ),
    "reckoned_from": (
        _("Faults too rare to reckon with"),
        _("Faults rarer than this are left out of the worst answers. Higher: rare surprises count for less."),
    ),
}


class ThresholdsForm(forms.Form):
    """All five, in percent."""

    def __init__(self, studio: Studio, **kwargs: Any) -> None:
        """Show what the studio has."""
        initial = {name: as_figure(100 * getattr(studio, name)) for name in THRESHOLDS}
        super().__init__(initial=initial, **kwargs)
        for name in THRESHOLDS:
            label, words = WORDS[name]
            default = _("Default: %s %%.") % as_figure(100 * getattr(Thresholds(), name))
            self.fields[name] = PercentField(label=label, help_text=f"{words} {default}", error_messages=NEEDED)

    @property
    def thresholds(self) -> Thresholds:
        """Return what was typed."""
        return Thresholds(**{name: self.cleaned_data[name] for name in THRESHOLDS})
