"""What remedies cost and how long they take where a studio is."""

from collections.abc import Iterator

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from intake.catalogue.schema import CostBand
from sessions.models.studios import Studio

PAID_BANDS = (CostBand.LOW, CostBand.MIDDLE, CostBand.HIGH)
AMOUNT_FIELDS = tuple(f"{band.value}_{end}" for band in PAID_BANDS for end in ("from", "to"))
LONGEST_LEAD_DAYS = 60


def validate_terms(terms: object) -> None:
    """Accept a table of remedies, each with its own band, its own working days, or both."""
    if not isinstance(terms, dict) or not all(_is_term(own) for own in terms.values()):
        raise ValidationError(_("Give each remedy a cost, lead_days, or both."))


def _is_term(own: object) -> bool:
    if not isinstance(own, dict) or not own or own.keys() - {"cost", "lead_days"}:
        return False
    days = own.get("lead_days", 0)
    known = {band.value for band in CostBand}
    return own.get("cost", "free") in known and type(days) is int and 0 <= days <= LONGEST_LEAD_DAYS


def _ordered() -> Iterator[models.CheckConstraint]:
    amounts = Q(**{f"{name}__gte": 0 for name in AMOUNT_FIELDS})
    for band in PAID_BANDS:
        amounts &= Q(**{f"{band.value}_to__gte": F(f"{band.value}_from")})
    for lower, upper in (("low", "middle"), ("middle", "high")):
        amounts &= Q(**{f"{upper}_from__gte": F(f"{lower}_from"), f"{upper}_to__gte": F(f"{lower}_to")})
    unset = Q(**{f"{name}__isnull": True for name in AMOUNT_FIELDS})
    all_set = Q(**{f"{name}__isnull": False for name in AMOUNT_FIELDS})
    yield models.CheckConstraint(
        condition=unset | (all_set & amounts),
        name="remedy_costs_all_or_none_and_rising",
        violation_error_message=_(
            "Give all amounts or none, each band from less to more, and no band below the one before."
        ),
    )


def _amount(label: str) -> models.DecimalField:
    return models.DecimalField(label, max_digits=8, decimal_places=2, null=True, blank=True)


class RemedyCosts(models.Model):
    """A studio's bands in money, and the remedies that are cheaper, dearer, quicker or slower there than the catalogue says.

    ``terms`` maps a remedy's key to its own ``cost`` (a band) and ``lead_days``; what is left out is the catalogue's.
    """

    studio = models.OneToOneField(
        Studio, models.CASCADE, related_name="remedy_costs", verbose_name=_("studio"), primary_key=True
    )
    low_from = _amount(_("low: from"))
    low_to = _amount(_("low: to"))
    middle_from = _amount(_("middle: from"))
    middle_to = _amount(_("middle: to"))
    high_from = _amount(_("high: from"))
    high_to = _amount(_("high: to"))
    terms = models.JSONField(_("own terms of remedies"), default=dict, blank=True, validators=[validate_terms])

    class Meta:
        verbose_name = _("costs of remedies")
        verbose_name_plural = _("costs of remedies")
        constraints = list(_ordered())

    def __str__(self) -> str:
        return str(self.studio)
