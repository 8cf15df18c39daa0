"""What a studio says about the cost and the length of remedies: its bands in money, and the remedies that differ."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.catalogue.schema import CostBand, Remedy
from intake.edge.money import BAND_LABELS
from intake.triage.terms import Amount, RemedyTerms, StudioTerms
from sessions.models.costs import AMOUNT_FIELDS, LONGEST_LEAD_DAYS, PAID_BANDS

MOST = Decimal("99999.99")
NO_AMOUNT = gettext_lazy("Give an amount, such as 20 or 20.50.")
NO_DAYS = gettext_lazy("Give whole working days, from 0 to %(most)d.") % {"most": LONGEST_LEAD_DAYS}
ENDS = {"from": gettext_lazy("from"), "to": gettext_lazy("to")}


@dataclass(frozen=True)
class RemedyRow:
    """A remedy with its two fields; ``is_open`` where something is set or refused."""

    remedy: Remedy
    band: forms.BoundField
    days: forms.BoundField
    is_open: bool


class CostsForm(forms.Form):
    """Six amounts, given all or none, and for each remedy an own band and own working days; empty is the catalogue's."""

    mark_optional = False

    def __init__(self, *args: object, remedies: Iterable[Remedy], currency: str, **kwargs: object) -> None:
        """Add the fields of every remedy."""
        super().__init__(*args, **kwargs)
        self.remedies, self.currency = tuple(remedies), currency
        for band in PAID_BANDS:
            for end, word in ENDS.items():
                self.fields[f"{band.value}_{end}"] = self._amount(f"{BAND_LABELS[band]}: {word}")
        for remedy in self.remedies:
            self.fields[f"band_{remedy.key}"] = _band(remedy)
            self.fields[f"days_{remedy.key}"] = _days(remedy)

    def _amount(self, label: str) -> forms.DecimalField:
        field = forms.DecimalField(
            label=label,
            required=False,
            min_value=0,
            max_value=MOST,
            decimal_places=2,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "class": "narrow"}),
            error_messages=dict.fromkeys(
                ("invalid", "min_value", "max_value", "max_decimal_places", "max_digits"), NO_AMOUNT
            ),
        )
        field.unit = self.currency
        return field

    @property
    def amount_pairs(self) -> Iterator[tuple[str, forms.BoundField, forms.BoundField]]:
        """Yield each band's name with its two fields."""
        for band in PAID_BANDS:
            yield str(BAND_LABELS[band]), self[f"{band.value}_from"], self[f"{band.value}_to"]

    def rows(self, who: str) -> list[RemedyRow]:
        """Return the remedies of these people."""
        return [self._row(remedy) for remedy in self.remedies if remedy.who.value == who]

    def _row(self, remedy: Remedy) -> RemedyRow:
        band, days = self[f"band_{remedy.key}"], self[f"days_{remedy.key}"]
        return RemedyRow(
            remedy, band, days, is_open=bool(band.value() or days.value() not in ("", None) or days.errors)
        )

    def clean(self) -> dict[str, object]:
        """Refuse half of the amounts, and bands that do not rise; each beside its field."""
        given = {name: self.cleaned_data.get(name) for name in AMOUNT_FIELDS}
        if any(name in self.errors for name in AMOUNT_FIELDS) or not any(value is not None for value in given.values()):
            return self.cleaned_data
        for name, value in given.items():
            if value is None:
                self.add_error(name, _("Give this amount, too, or leave all six empty."))
        if not self.errors:
            self._check_rising(given)
        return self.cleaned_data

    def _check_rising(self, given: dict[str, Decimal]) -> None:
        for band in PAID_BANDS:
            if given[f"{band.value}_to"] < given[f"{band.value}_from"]:
                self.add_error(f"{band.value}_to", _("This is less than where the band begins."))
        for lower, upper in pairwise(PAID_BANDS):
            for end in ENDS:
                if given[f"{upper.value}_{end}"] < given[f"{lower.value}_{end}"]:
                    self.add_error(f"{upper.value}_{end}", _("This is less than in the band before."))

    def amounts(self) -> dict[str, Decimal | None]:
        """Return the amounts of a valid form."""
        return {name: self.cleaned_data[name] for name in AMOUNT_FIELDS}

    def terms(self) -> dict[str, dict[str, object]]:
        """Return each remedy's own terms, without those that are the catalogue's."""
        found = {}
        for remedy in self.remedies:
            band, days = self.cleaned_data.get(f"band_{remedy.key}"), self.cleaned_data.get(f"days_{remedy.key}")
            own = ({"cost": band} if band else {}) | ({"lead_days": days} if days is not None else {})
            if own:
                found[remedy.key] = own
        return found

    def studio_terms(self) -> StudioTerms:
        """Return what a valid form would set, as the triage takes it."""
        given = self.amounts()
        pairs = {band: (given[f"{band.value}_from"], given[f"{band.value}_to"]) for band in PAID_BANDS}
        return StudioTerms(
            remedies={
                key: RemedyTerms(CostBand(own["cost"]) if "cost" in own else None, own.get("lead_days"))
                for key, own in self.terms().items()
            },
            amounts={
                band: Amount(float(a), float(b)) for band, (a, b) in pairs.items() if a is not None and b is not None
            },
            currency=self.currency,
        )


def _band(remedy: Remedy) -> forms.ChoiceField:
    as_usual = _("as usual (%(band)s)") % {"band": BAND_LABELS[remedy.cost]}
    field = forms.ChoiceField(
        label=_("Cost of “%(remedy)s”") % {"remedy": remedy.title},
        required=False,
        choices=[("", as_usual), *((band.value, BAND_LABELS[band]) for band in CostBand)],
        error_messages={"invalid_choice": _("Choose one of the bands.")},
    )
    field.hide_label = True
    return field


def _days(remedy: Remedy) -> forms.IntegerField:
    field = forms.IntegerField(
        label=_("Working days for “%(remedy)s”") % {"remedy": remedy.title},
        required=False,
        min_value=0,
        max_value=LONGEST_LEAD_DAYS,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "class": "narrow", "placeholder": remedy.lead_days}),
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), NO_DAYS),
    )
    field.hide_label = True
    return field
