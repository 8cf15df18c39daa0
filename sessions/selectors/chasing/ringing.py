"""Riders whom mails do not reach, or who do not answer them: to be rung today."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import BooleanField, Exists, ExpressionWrapper, OuterRef, Q
from django.utils.translation import gettext as _

from intake.chasing.occasions import Kind
from intake.models import OutgoingMail, Reminder
from intake.models.mail import MailState
from sessions.models import FitSession
from sessions.selectors.chasing.coming import REMINDED

MOST_SHOWN = 8
A_NIGHT = timedelta(hours=15)


@dataclass(frozen=True)
class ToRing:
    """A session whose rider is to be rung, and why."""

    fit_session: FitSession
    reason: str


def to_ring(now: datetime) -> list[ToRing]:
    """Return whom to ring, the soonest session first: one query.

    Somebody to whom a mail could not be sent since the booking; somebody who has been asked for the check twice, had the rest of
    the day to answer, and has not.
    """
    failed = OutgoingMail.objects.filter(
        client=OuterRef("client"), state=MailState.FAILED, created_at__gte=OuterRef("created_at")
    )
    asked = Reminder.objects.filter(
        pre_visit=OuterRef("pre_visit"),
        occasion=Kind.CHASE_AGAIN.value,
        starts_on__gte=now.date(),
        mail__created_at__lt=now - A_NIGHT,
    )
    silent = Q(pre_visit__submitted_at__isnull=True, pre_visit__summary__unanswered__gt=0) & Exists(asked)
    found = FitSession.objects.filter(Exists(failed) | silent, state__in=REMINDED, starts_at__gt=now)
    found = found.annotate(mail_failed=ExpressionWrapper(Exists(failed), BooleanField())).select_related(
        "client", "studio"
    )
    return [ToRing(each, _reason(each)) for each in found.order_by("starts_at", "pk")[:MOST_SHOWN]]


def _reason(fit_session: FitSession) -> str:
    if fit_session.mail_failed:
        return _("a mail could not be delivered")
    return _("asked for the check twice, no answer")
