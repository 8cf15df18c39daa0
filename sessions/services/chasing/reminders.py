"""Write to riders before their sessions: at the check, at repairs, three days and one day before. Each occasion once."""

from datetime import date, datetime

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.translation import gettext_lazy as _

from intake.chasing.occasions import Kind
from intake.models import OutgoingMail, PreVisitCheck, Reminder
from intake.models.mail import MailState
from intake.selectors.links import full_address, newest_link
from intake.selectors.outcomes import after_repairs
from intake.services.mail import queue_mail
from intake.services.triage import BATCH
from sessions.diary.states import SessionState
from sessions.models import FitSession
from sessions.selectors.booking.weeks import clock_name
from sessions.selectors.chasing.coming import (
    Due,
    due_mails,
    open_tasks,
    sessions_to_look_at,
    with_all_that_reminders_need,
)

SUBJECTS = {
    Kind.CHASE: _("Please look over your bike before your session at %(studio)s"),
    Kind.CHASE_AGAIN: _("Your bike check is still open: session at %(studio)s on %(day)s"),
    Kind.FIX_SOON: _("To put right before your session at %(studio)s on %(day)s"),
    Kind.LAST_DAY: _("Today is the last day to begin a repair for your session at %(studio)s"),
    Kind.THREE_DAYS: _("Your session at %(studio)s on %(day)s"),
    Kind.ONE_DAY: _("Tomorrow: your session at %(studio)s"),
}


def send_due_reminders(now: datetime | None = None, *, limit: int = BATCH) -> int:
    """Write the reminders that are due; return how many mails.

    Two queries where nothing is to be looked at, one at night. A batch is read in a number of queries that does not depend on its
    size; each session is looked at once a day, by one worker. What lies beyond the limit waits for the next call.
    """
    now = now or timezone.now()
    found = sessions_to_look_at(now)
    ids = list(found.values_list("pk", flat=True)[:limit]) if found is not None else []
    return _remind(ids, now) if ids else 0


@transaction.atomic
def _remind(ids: list[int], now: datetime) -> int:
    """Look at these sessions again, kept from other workers and from whoever moves or cancels one, and write what is due."""
    list(FitSession.objects.select_for_update().filter(pk__in=ids).order_by("pk").values_list("pk"))
    still = sessions_to_look_at(now)
    sessions = list(with_all_that_reminders_need(still.filter(pk__in=ids)))
    due = due_mails(sessions, now)
    for each in due:
        _write(each)
    _note(sessions, now)
    return len(due)


def _note(sessions: list[FitSession], now: datetime) -> None:
    by_day: dict[date, list[int]] = {}
    for fit_session in sessions:
        by_day.setdefault(now.astimezone(fit_session.studio.zone).date(), []).append(fit_session.pre_visit_id)
    for day, ids in by_day.items():
        PreVisitCheck.objects.filter(pk__in=ids).update(reminded_until=day)


def _write(due: Due) -> OutgoingMail:
    fit_session, notice = due.fit_session, due.notice
    subject, body = reminder_mail(due)
    mail = queue_mail(
        key=f"{occasion_of(fit_session)}{due.outlook.starts_on}:{notice.day}",
        to=fit_session.client.email,
        reply_to=fit_session.studio.email,
        subject=subject,
        body=body,
        client=fit_session.client,
    )
    Reminder.objects.bulk_create(
        [
            Reminder(
                pre_visit_id=fit_session.pre_visit_id,
                starts_on=due.outlook.starts_on,
                occasion=key,
                reminded_on=notice.day,
                mail=mail,
            )
            for key in notice.keys
        ],
        ignore_conflicts=True,
    )
    return mail


def occasion_of(fit_session: FitSession) -> str:
    """Return how the keys of a session's reminders begin."""
    return f"reminder:{fit_session.uid}:"


def drop_reminders(fit_session: FitSession) -> int:
    """Keep reminders that still wait in the outbox from going out: their session was moved or cancelled."""
    waiting = OutgoingMail.objects.filter(key__startswith=occasion_of(fit_session), state=MailState.QUEUED)
    return waiting.update(state=MailState.DROPPED)


def reminder_mail(due: Due) -> tuple[str, str]:
    """Return subject and text of one mail."""
    fit_session, zone, kinds = due.fit_session, due.session_slot.zone, due.notice.kinds
    link, tasks = newest_link(fit_session.pre_visit), open_tasks(due.checks, due.advice)
    context = {
        "due": due,
        "fit_session": fit_session,
        "client": fit_session.client,
        "studio": fit_session.studio,
        "clock": clock_name(fit_session.starts_at.astimezone(zone)),
        "minutes": due.checks.minutes_left,
        "begin_by": max(due.begin_by, due.notice.day),
        "is_late": due.begin_by <= due.notice.day,
        "tasks": tasks if kinds - {Kind.CHASE, Kind.CHASE_AGAIN} else [],
        "last": [task for task in tasks if task.by and task.by <= due.notice.day],
        "is_tomorrow": Kind.ONE_DAY in kinds,
        "is_reminder": bool(kinds & {Kind.ONE_DAY, Kind.THREE_DAYS}),
        "may_confirm": fit_session.state != SessionState.CONFIRMED and not due.checks.triage.stopped,
        "asks_for_check": due.outlook.silent,
        "to_tell": [each for each in after_repairs(fit_session.pre_visit, due.checks.given) if each.is_due],
        "changed_address": full_address(link, "check:outcomes"),
        "address": full_address(link),
        "check_address": full_address(link, "check:start"),
        "advice_address": full_address(link, "check:advice"),
    }
    with translation.override(settings.LANGUAGE_CODE), timezone.override(zone):
        body = render_to_string("sessions/mail/reminder.txt", context)
        day = render_to_string("sessions/mail/_day.txt", context).strip()
        subject = str(SUBJECTS[due.notice.kind]) % {"studio": fit_session.studio.name, "day": day}
    return subject, body.strip() + "\n"
