"""Keep what a studio says about remedies; coming sessions are judged by it from then on."""

from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction

from intake.models import TriageSummary
from sessions.diary.states import COMING
from sessions.models import RemedyCosts, Studio


@transaction.atomic
def save_costs(
    *, studio: Studio, amounts: Mapping[str, Decimal | None], terms: Mapping[str, Mapping[str, object]]
) -> RemedyCosts:
    """Keep a studio's amounts and own terms; the summaries of its coming sessions are out of date then."""
    costs, _created = RemedyCosts.objects.update_or_create(studio=studio, defaults={**amounts, "terms": dict(terms)})
    coming = TriageSummary.objects.filter(
        pre_visit__fit_session__studio=studio, pre_visit__fit_session__state__in=COMING
    )
    coming.update(catalogue_version="")
    return costs
