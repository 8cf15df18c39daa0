"""Begin a fit record, close it, and open it again; the session's state follows."""

from datetime import date, timedelta

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from intake.models import OutgoingMail
from intake.models.previsit import Phase
from intake.models.snapshots import SnapshotMoment
from intake.services.experience import learn_from
from intake.services.snapshots import forget_undue, keep_snapshot
from sessions.diary.states import SessionState
from sessions.models import ClosingStep, FitRecord, FitSession
from sessions.models.fits import ClosingKind
from sessions.selectors.bench.records import WRITABLE, open_lines
from sessions.services.bench.errors import RecordClosedError, RecordNotEmptyError, SafetyOpenError
from sessions.services.bench.mail import tell_sheet_ready
from sessions.services.booking.history import change_state
from sessions.services.booking.occupancy import locked

KEPT_WITH_RECORD = (
    *("readings", "body_measures", "component_changes", "parts_to_order"),
    *("safety_entries", "time_losses", "closing_steps"),
)


@transaction.atomic
def begin_record(*, fit_session: FitSession, by: AbstractBaseUser | None) -> FitRecord:
    """Begin the record of a session and set it under way; begun twice it is the same record.

    Raises MoveNotAllowedError where the session cannot take place, StartTakenError where its time was given away,
    RedFlagsUnreadError where a red flag has not been read.
    """
    now = locked(fit_session)
    if now.state not in WRITABLE:
        change_state(fit_session=now, to=SessionState.UNDER_WAY, by=by)
    fit_session.state = now.state
    usual = {"follow_up_on": usual_next_visit(now)}
    record, is_new = FitRecord.objects.get_or_create(fit_session=now, defaults=usual)
    if is_new:
        keep_snapshot(now.pre_visit, SnapshotMoment.DAY)
    return record


def usual_next_visit(fit_session: FitSession) -> date | None:
    """Return the day after which this service is usually followed up, None where it is not."""
    days = fit_session.service.follow_up_days
    return fit_session.starts_at.astimezone(fit_session.studio.zone).date() + timedelta(days=days) if days else None


@transaction.atomic
def take_back_start(*, fit_session: FitSession, by: AbstractBaseUser | None) -> None:
    """Undo a start by mistake: the empty record goes, the session is confirmed again.

    Raises RecordNotEmptyError, and RedFlagsUnreadError where a red flag has been raised that nobody has read.
    """
    now = locked(fit_session)
    record = FitRecord.objects.select_for_update().filter(fit_session=now).first()
    if record is not None:
        if not is_empty(record):
            raise RecordNotEmptyError
        record.delete()
    change_state(fit_session=now, to=SessionState.CONFIRMED, by=by)
    forget_undue(now.pre_visit)
    fit_session.state = now.state


def is_empty(record: FitRecord) -> bool:
    """Return whether nothing was recorded yet."""
    said = record.notes or record.follow_up_note or record.pitch_deg or record.nothing_lost
    said = said or record.follow_up_on not in {None, usual_next_visit(record.fit_session)}
    felt = record.fit_session.pre_visit.discomforts.filter(phase=Phase.AFTER)
    return not (said or felt.exists() or any(getattr(record, name).exists() for name in KEPT_WITH_RECORD))


def locked_open(record: FitRecord) -> FitRecord:
    """Return the record as it is now, kept from other writers for the rest of the transaction. Raises RecordClosedError."""
    related = FitRecord.objects.select_related(
        *(f"fit_session__{name}" for name in ("bike", "client", "pre_visit", "studio"))
    )
    now = related.select_for_update(of=("self",)).get(pk=record.pk)
    if now.closed_at is not None or now.fit_session.state not in WRITABLE:
        raise RecordClosedError
    return now


@transaction.atomic
def close_record(*, record: FitRecord, by: AbstractBaseUser | None) -> OutgoingMail | None:
    """Close a record whose safety list is settled, end its session, and mail the rider where the sheet is.

    Returns the mail: the first one again where it was closed before, None where no private link is open to name.
    Raises SafetyOpenError, RecordClosedError.
    """
    # Session before record, as everywhere: two writers then never wait for each other in a ring.
    locked(record.fit_session)
    now = locked_open(record)
    still_open = open_lines(now)
    if still_open:
        raise SafetyOpenError(still_open)
    now.closed_at, now.closed_by = timezone.now(), by
    now.save(update_fields=["closed_at", "closed_by"])
    ClosingStep.objects.create(fit_record=now, kind=ClosingKind.CLOSED, taken_by=by)
    if now.fit_session.state == SessionState.UNDER_WAY:
        change_state(fit_session=now.fit_session, to=SessionState.DONE, by=by)
    record.closed_at, record.closed_by = now.closed_at, now.closed_by
    learn_from(pre_visit=now.fit_session.pre_visit, lost_min=minutes_lost(now))
    return tell_sheet_ready(fit_session=now.fit_session)


def minutes_lost(record: FitRecord) -> dict[str, int] | None:
    """Return the minutes noted in a record by finding key, none where somebody said so, None where nobody said anything."""
    noted = {loss.finding_key: loss.minutes for loss in record.time_losses.all()}
    return noted if noted or record.nothing_lost else None


@transaction.atomic
def reopen_record(*, record: FitRecord, by: AbstractBaseUser | None, note: str) -> None:
    """Open a closed record again; the session stays done, and who, when and why are kept. Opened twice is opened once."""
    now = FitRecord.objects.select_for_update().get(pk=record.pk)
    if now.closed_at is None:
        return
    now.closed_at = now.closed_by = None
    now.save(update_fields=["closed_at", "closed_by"])
    ClosingStep.objects.create(fit_record=now, kind=ClosingKind.REOPENED, note=note, taken_by=by)
    record.closed_at = record.closed_by = None
