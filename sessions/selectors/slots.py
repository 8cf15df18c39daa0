"""Sessions as the intake sees them: plain values, read in a fixed number of queries."""

from collections.abc import Sequence
from datetime import date, datetime

from django.utils import timezone

from intake.catalogue.schema import Adjustment
from intake.slots import SessionSlot
from intake.triage.answers import Slot, Thresholds, WorkingDays
from sessions.diary.states import COMING
from sessions.models import FitSession, Studio
from sessions.models.studios import THRESHOLDS
from sessions.selectors.closures import closed_within
from sessions.selectors.remedy_terms import terms_of


def working_days(studio: Studio, today: date) -> WorkingDays:
    """Return the studio's working days from its hours, closures and public holidays, as far as deadlines reach."""
    first_day, last_day = date(today.year - 1, 1, 1), date(today.year + 2, 12, 31)
    return WorkingDays(
        open_weekdays=frozenset(hours.weekday for hours in studio.opening_hours.all()),
        closed=closed_within(studio, studio.closures.all(), first_day, last_day),
    )


def thresholds(studio: Studio) -> Thresholds:
    """Return where this studio's verdicts change."""
    return Thresholds(**{name: getattr(studio, name) for name in THRESHOLDS})


def slots_of_checks(pre_visit_ids: Sequence[int]) -> dict[int, SessionSlot]:
    """Return the sessions of these checks by check id: three queries, however many."""
    found = FitSession.objects.filter(pre_visit_id__in=pre_visit_ids).select_related("service")
    sessions = list(found)
    needed = Studio.objects.filter(pk__in={s.studio_id for s in sessions}).select_related("remedy_costs")
    studios = needed.prefetch_related("opening_hours", "closures")
    now = timezone.now()
    by_id = {studio.pk: (studio, working_days(studio, now.astimezone(studio.zone).date())) for studio in studios}
    return {s.pre_visit_id: _session_slot(s, *by_id[s.studio_id], now) for s in sessions}


def _session_slot(fit_session: FitSession, studio: Studio, days: WorkingDays, now: datetime) -> SessionSlot:
    slot = Slot(
        planned_min=fit_session.planned_min,
        slack_min=fit_session.slack_min,
        essential=frozenset(Adjustment(key) for key in fit_session.service.essential),
        starts_on=fit_session.starts_at.astimezone(studio.zone).date(),
        today=now.astimezone(studio.zone).date(),
        working_days=days,
        thresholds=thresholds(studio),
        terms=terms_of(studio),
    )
    return SessionSlot(
        slot=slot,
        starts_at=fit_session.starts_at,
        zone=studio.zone,
        service=fit_session.service.name,
        studio=studio.name,
        studio_email=studio.email,
        studio_phone=studio.phone.as_international if studio.phone else "",
        changeable=fit_session.state in COMING and now < fit_session.starts_at,
    )
