"""How one place of the body feels: a number from 0 to 10, after how long, and a remark."""

from django import forms
from django.forms.utils import ErrorList
from django.utils.translation import gettext_lazy as _

from intake.edge.refusals import has_refusals, slots
from intake.models import Discomfort
from intake.models.previsit import SEVERE_FROM

LONGEST_RIDE_MIN = 1440


class DiscomfortForm(forms.Form):
    """The words at the ends of the scale stand in its help, so that they are read out with it."""

    score = forms.TypedChoiceField(
        label=_("How much does it trouble you on the bike?"),
        help_text=_("0 is nothing, 10 is the worst you can imagine."),
        choices=[(number, str(number)) for number in range(11)],
        coerce=int,
        widget=forms.RadioSelect(attrs={"class": "scale"}),
        error_messages={
            "required": _("Choose a number from 0 to 10."),
            "invalid_choice": _("Choose a number from 0 to 10."),
        },
    )
    after_min = forms.IntegerField(
        label=_("After how many minutes of riding does it start?"),
        help_text=_("A rough guess is fine. Type 0 if it is there from the start."),
        required=False,
        min_value=0,
        max_value=LONGEST_RIDE_MIN,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "narrow"}),
        error_messages={
            "invalid": _("Type whole minutes, such as 45."),
            "min_value": _("Minutes cannot be less than 0."),
            "max_value": _("That is more than a day. Type the minutes from the start of a ride."),
        },
    )
    note = forms.CharField(
        label=_("In your own words"),
        help_text=_("For example: burning, numb, only uphill, since last summer."),
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *, row: Discomfort | None, **kwargs: object) -> None:
        """Start from what is stored."""
        self.row = row
        initial = {"score": row.score, "after_min": row.after_min, "note": row.note} if row else {}
        super().__init__(initial=initial, **kwargs)
        self.fields["after_min"].unit = _("minutes")

    @property
    def kept_score(self) -> int | None:
        """Return the accepted number, None while there is none; what stood there where a forged one is refused."""
        if self.has_error("score", "invalid_choice"):
            return self.row.score if self.row else None
        return self.cleaned_data.get("score")

    @property
    def kept_after_min(self) -> int | None:
        """Return the minutes to store: what stood there where these are refused."""
        if "after_min" in self.errors:
            return self.row.after_min if self.row else None
        return self.cleaned_data.get("after_min")

    @property
    def kept_note(self) -> str:
        """Return the remark to store."""
        if "note" in self.errors:
            return self.row.note if self.row else ""
        return self.cleaned_data["note"]

    @property
    def has_refusals(self) -> bool:
        """Return whether something that was typed cannot be kept."""
        return has_refusals(self)

    @property
    def slots(self) -> list[tuple[str, ErrorList]]:
        """Return what to say beside each typed field after it saved itself."""
        return slots(self, ["after_min", "note"])

    @property
    def severe(self) -> bool:
        """Return whether the number that stands is one that belongs with a doctor."""
        score = self.kept_score if self.is_bound else (self.row.score if self.row else None)
        return score is not None and score >= SEVERE_FROM

    @property
    def newly_severe(self) -> bool:
        """Return whether it was less than that before."""
        return self.severe and (self.row is None or self.row.score < SEVERE_FROM)
