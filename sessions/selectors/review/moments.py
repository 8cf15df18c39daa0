"""Which coming sessions have reached a moment that is kept for the studio's figures."""

from datetime import datetime, time, timedelta

from django.db.models import Exists, OuterRef, Q
from django.utils import timezone

from intake.models import PreVisitCheck, SnapshotMoment, TriageSnapshot
from intake.models.snapshots import DAYS_BEFORE
from sessions.diary.states import COMING
from sessions.models import Studio


def checks_at_a_moment(limit: int) -> list[PreVisitCheck]:
    """Return the checks of coming sessions that have reached a moment by their studio's calendar, not kept yet: two queries."""
    now, due = timezone.now(), Q(pk__in=[])
    for studio in Studio.objects.only("time_zone"):
        for moment in DAYS_BEFORE:
            due |= Q(fit_session__studio=studio.pk, fit_session__starts_at__lt=_reached(studio, now, moment)) & ~_kept(
                moment
            )
    coming = PreVisitCheck.objects.filter(fit_session__state__in=COMING, fit_session__ends_at__gt=now)
    return list(coming.filter(due).select_related("bike").order_by("fit_session__starts_at", "pk")[:limit])


def _reached(studio: Studio, now: datetime, moment: SnapshotMoment) -> datetime:
    """Return the end of the last day whose sessions have reached this moment."""
    first_after = now.astimezone(studio.zone).date() + timedelta(days=DAYS_BEFORE[moment] + 1)
    return datetime.combine(first_after, time.min, studio.zone)


def _kept(moment: SnapshotMoment) -> Exists:
    return Exists(TriageSnapshot.objects.filter(pre_visit=OuterRef("pk"), moment=moment))
