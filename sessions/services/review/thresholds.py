"""Keep from where a studio's verdicts change, and judge its coming sessions by it."""

from dataclasses import asdict

from django.db import transaction
from django.utils import timezone

from intake.models import TriageSummary
from intake.triage.answers import Thresholds
from sessions.models import Studio
from sessions.selectors.review.listing import coming_sessions
from sessions.services.review.summaries import refresh_stale


def save_thresholds(*, studio: Studio, thresholds: Thresholds) -> None:
    """Keep a studio's thresholds; the soonest sessions are judged again at once, the others by the worker within minutes."""
    with transaction.atomic():
        values = asdict(thresholds)
        Studio.objects.filter(pk=studio.pk).update(**values)
        coming = coming_sessions(timezone.now()).filter(studio=studio).values("pre_visit_id")
        TriageSummary.objects.filter(pre_visit_id__in=coming).update(catalogue_version="")
    refresh_stale()
