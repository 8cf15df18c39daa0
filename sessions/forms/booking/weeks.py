"""Which week of the diary to show."""

from datetime import date

from django import forms


class WeekForm(forms.Form):
    """A date in the address; anything that is none shows the first week instead."""

    week = forms.DateField(required=False, input_formats=["%Y-%m-%d"])

    def wanted(self) -> date | None:
        """Return the date asked for, if it is one."""
        return self.cleaned_data["week"] if self.is_valid() else None
