"""Which studio, months and service the figures count."""

from datetime import date

from django import forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from sessions.models import Service, Studio

EVER = "all"
MONTHS = {
    "3": _("the last 3 months"),
    "6": _("the last 6 months"),
    "12": _("the last 12 months"),
    "24": _("the last 2 years"),
    EVER: _("all there is"),
}
USUAL = "12"
OFF_THE_LIST = _("Choose one from the list.")


class FiguresForm(forms.Form):
    """The studio, how far back, and the service. Nothing chosen means the first studio, twelve months, every service."""

    mark_optional = False
    studio = forms.ModelChoiceField(
        Studio.objects.none(),
        required=False,
        label=_("Studio"),
        empty_label=None,
        error_messages={"invalid_choice": OFF_THE_LIST},
    )
    months = forms.ChoiceField(
        choices=list(MONTHS.items()),
        required=False,
        label=_("Period"),
        initial=USUAL,
        error_messages={"invalid_choice": OFF_THE_LIST},
    )
    service = forms.ModelChoiceField(
        Service.objects.none(),
        required=False,
        label=_("Service"),
        empty_label=_("every service"),
        error_messages={"invalid_choice": OFF_THE_LIST},
    )

    def __init__(self, data: object, *, studios: QuerySet[Studio], services: QuerySet[Service]) -> None:
        """Offer the studios and the services that there are."""
        super().__init__(data)
        self.fields["studio"].queryset, self.fields["service"].queryset = studios, services
        self.fields["service"].label_from_instance = lambda service: service.name

    def clean(self) -> dict[str, object]:
        """Refuse a service that the chosen studio does not offer."""
        studio, service = self.cleaned_data.get("studio"), self.cleaned_data.get("service")
        if studio and service and service.studio_id != studio.pk:
            self.add_error("service", _("This is a service of another studio."))
        return self.cleaned_data

    def first_day(self, today: date) -> date | None:
        """Return the first day of the first month that counts; None where all there is counts. This month is one of them."""
        months = self.cleaned_data["months"] or USUAL
        if months == EVER:
            return None
        return first_of_months(today, int(months))


def first_of_months(today: date, months: int) -> date:
    """Return the first day of the first of so many months, of which this is the last.

    >>> first_of_months(date(2026, 2, 28), 3)
    datetime.date(2025, 12, 1)
    """
    year, month = divmod(12 * today.year + today.month - months, 12)
    return date(year, month + 1, 1)
