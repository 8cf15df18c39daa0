"""Which sessions are to be looked at for reminders, and what each one's reminders depend on."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from django.db.models import DateTimeField, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from intake.chasing.leads import likely_leads, longest_likely_lead
from intake.chasing.occasions import Deadline, Outlook
from intake.chasing.schedule import Notice, is_daytime, notice_on
from intake.models import Reminder
from intake.models.repairs import RepairOutcome
from intake.selectors.advice import Advice, Task, advice_of
from intake.selectors.catalogue import current_catalogue
from intake.selectors.experience import studio_experience
from intake.selectors.previsit import CheckList
from intake.selectors.triage import MONDAY_TO_FRIDAY, input_of, told_of
from intake.slots import SessionSlot, slots_of
from intake.triage.deadlines import fix_by
from intake.triage.errors import NoWorkingDayError
from sessions.diary.states import SessionState
from sessions.models import FitSession, StateChange, Studio

REMINDED = (SessionState.BOOKED, SessionState.CONFIRMED, SessionState.MOVED)
FARTHEST = timedelta(days=60)  # no remedy takes longer, closures included


@dataclass(frozen=True)
class Due:
    """A mail that is due: the session, what the mail is about, and what it says of the check."""

    fit_session: FitSession
    notice: Notice
    outlook: Outlook
    checks: CheckList
    advice: Advice
    session_slot: SessionSlot

    @property
    def begin_by(self) -> date:
        """Return the last day on which the longest likely remedy can begin."""
        return fix_by(self.outlook.starts_on, self.outlook.lead_days, self.outlook.working_days)


def sessions_to_look_at(now: datetime) -> QuerySet[FitSession] | None:
    """Return the coming sessions that were not looked at on this local day, the soonest first; None while it is night everywhere.

    One query for the studios, and one when it is read.
    """
    wanted = Q()
    for studio in Studio.objects.only("time_zone"):
        local = now.astimezone(studio.zone)
        if is_daytime(local):
            unseen = Q(pre_visit__reminded_until__isnull=True) | Q(pre_visit__reminded_until__lt=local.date())
            wanted |= Q(studio=studio.pk) & unseen
    if not wanted:
        return None
    coming = FitSession.objects.filter(wanted, state__in=REMINDED, starts_at__gt=now, starts_at__lt=now + FARTHEST)
    return coming.order_by("starts_at", "pk")


def with_all_that_reminders_need(found: QuerySet[FitSession]) -> QuerySet[FitSession]:
    """Return the sessions with their rider, bike, studio, and when their time was last mailed (``known_at``)."""
    timed = StateChange.objects.filter(
        fit_session=OuterRef("pk"), to_state__in=[SessionState.BOOKED, SessionState.MOVED]
    ).order_by("-pk")
    known_at = Coalesce(Subquery(timed.values("changed_at")[:1]), "created_at", output_field=DateTimeField())
    related = ("studio", "service", "client", "bike", "pre_visit__client", "pre_visit__bike")
    return found.select_related(*related).annotate(known_at=known_at)


def due_mails(fit_sessions: Collection[FitSession], now: datetime) -> list[Due]:
    """Return the mails that are due for these sessions, in a number of queries that does not depend on how many there are."""
    ids = [fit_session.pre_visit_id for fit_session in fit_sessions]
    slots, told, sent = slots_of(ids), told_of(ids), _sent(ids)
    catalogue, found = current_catalogue(), []
    experience = studio_experience(catalogue)
    for fit_session in fit_sessions:
        pk, session_slot = fit_session.pre_visit_id, slots[fit_session.pre_visit_id]
        given = input_of(fit_session.pre_visit, told[pk], session_slot, catalogue, experience)
        due = _due(fit_session, CheckList(fit_session.pre_visit, told[pk], given), session_slot, sent[pk], now)
        found += [due] if due else []
    return found


def _sent(pre_visit_ids: Collection[int]) -> Mapping[int, set[tuple[date, str]]]:
    sent: dict[int, set[tuple[date, str]]] = defaultdict(set)
    rows = Reminder.objects.filter(pre_visit_id__in=pre_visit_ids).values_list("pre_visit", "starts_on", "occasion")
    for pk, starts_on, occasion in rows:
        sent[pk].add((starts_on, occasion))
    return sent


def _due(
    fit_session: FitSession, checks: CheckList, session_slot: SessionSlot, sent: set[tuple[date, str]], now: datetime
) -> Due | None:
    advice = advice_of(checks.triage, checks.given.catalogue)
    outlook = outlook_of(fit_session, checks, advice, session_slot)
    keys = {occasion for starts_on, occasion in sent if starts_on == outlook.starts_on}
    try:
        notice = notice_on(now.astimezone(session_slot.zone).date(), outlook, keys)
    except NoWorkingDayError:
        outlook = replace(outlook, working_days=MONDAY_TO_FRIDAY)
        notice = notice_on(now.astimezone(session_slot.zone).date(), outlook, keys)
    return Due(fit_session, notice, outlook, checks, advice, session_slot) if notice else None


def outlook_of(fit_session: FitSession, checks: CheckList, advice: Advice, session_slot: SessionSlot) -> Outlook:
    """Return what one session's reminders depend on. Who was told to see a clinician first is asked for nothing else."""
    triage, zone = checks.triage, session_slot.zone
    submitted_at = fit_session.pre_visit.submitted_at
    is_open = submitted_at is None and any(not unknown.could_not for unknown in triage.unknowns)
    return Outlook(
        starts_on=session_slot.slot.starts_on,
        known_on=fit_session.known_at.astimezone(zone).date(),
        working_days=session_slot.slot.working_days,
        lead_days=longest_likely_lead(likely_leads(triage, checks.given.catalogue)),
        silent=is_open and not triage.stopped,
        deadlines=() if triage.stopped else _deadlines(checks, advice),
        advised_on=submitted_at.astimezone(zone).date() if submitted_at else None,
    )


def _deadlines(checks: CheckList, advice: Advice) -> tuple[Deadline, ...]:
    return tuple(
        Deadline(task.key, task.by, pressing=task.needed or task.dangerous)
        for task in open_tasks(checks, advice)
        if task.by is not None
    )


def open_tasks(checks: CheckList, advice: Advice) -> list[Task]:
    """Return what is to be put right, without what was reported done and only waits to be confirmed."""
    done = {key for key, report in checks.told.repairs.items() if report.outcome == RepairOutcome.DONE}
    return [task for task in advice.tasks if task.key not in done]
