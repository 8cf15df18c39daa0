"""Change what a booked session takes: another time, more minutes, or none at all. The rider's calendar follows."""

from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from intake.services.snapshots import forget_undue
from intake.services.triage import refresh_summary
from sessions.diary.quanta import QUANTUM_MIN
from sessions.diary.states import OCCUPYING, SessionState, check_move
from sessions.models import FitSession
from sessions.selectors.booking.diary import Wanted, free_extension, need_of_session
from sessions.selectors.booking.places import place_for
from sessions.services.booking.errors import ExtensionError
from sessions.services.booking.history import step
from sessions.services.booking.occupancy import locked, occupied_by, occupy, occupy_more, release
from sessions.services.booking.session_mail import tell_cancelled, tell_longer, tell_moved
from sessions.services.chasing.reminders import drop_reminders

CHANGED = ("starts_at", "ends_at", "slack_min", "fitter", "bay", "state", "sequence")


@transaction.atomic
def move_session(
    *,
    fit_session: FitSession,
    new_start: datetime,
    by: AbstractBaseUser | None,
    note: str = "",
    message: str = "",
    with_notice: bool = False,
    fitter_id: int | None = None,
    bay_id: int | None = None,
) -> FitSession:
    """Give a session another start, with the same fitter and bay where both are free, and mail the new invitation.

    ``note`` is kept in the history; ``message`` stands at the top of the mail. Raises MoveNotAllowedError, StartNotOfferedError,
    StartTakenError; the session then stays where it was. Where it starts then already nothing changes: a form sent twice moves once.
    """
    now = locked(fit_session)
    if new_start == now.starts_at and fitter_id in (None, now.fitter_id) and bay_id in (None, now.bay_id):
        return _shown(fit_session, now)
    check_move(SessionState(now.state), SessionState.MOVED)
    wanted = Wanted(need_of_session(now), fitter_id, bay_id)
    keep = (now.fitter_id, now.bay_id)
    place = place_for(now.studio, wanted, new_start, with_notice=with_notice, without=now, keep=keep)
    # Before the new rows are written, so that a session can move by less than its own length.
    release(now)
    now.starts_at, now.ends_at = place.start, place.start + (now.ends_at - now.starts_at)
    now.fitter_id, now.bay_id = place.fitter_id, place.bay_id
    occupy(now)
    step(fit_session=now, to=SessionState.MOVED, by=by, note=note)
    _store(now)
    _keep_links_open(now)
    refresh_summary(now.pre_visit)
    forget_undue(now.pre_visit)
    drop_reminders(now)
    tell_moved(fit_session=now, message=message)
    return _shown(fit_session, now)


@transaction.atomic
def extend_session(
    *, fit_session: FitSession, extra_min: int, by: AbstractBaseUser | None, message: str = ""
) -> FitSession:
    """Add minutes to the end of a session, as slack, and tell the rider unless the session has begun.

    ``by`` is who decided; the decision on the slot is kept by whoever asks for it. Raises ExtensionError where the day does not
    allow so many minutes, also where it is over.
    """
    now = locked(fit_session)
    _check_extension(now, extra_min)
    before = occupied_by(now).end
    now.slack_min += extra_min
    now.ends_at += timedelta(minutes=extra_min)
    occupy_more(now, since=before)
    _store(now)
    refresh_summary(now.pre_visit)
    if now.state != SessionState.UNDER_WAY:
        tell_longer(fit_session=now, extra_min=extra_min, message=message)
    return _shown(fit_session, now)


def _check_extension(fit_session: FitSession, extra_min: int) -> None:
    state = SessionState(fit_session.state)
    if state is SessionState.DONE or state not in OCCUPYING:
        raise ExtensionError(extra_min, 0)
    possible_min = free_extension(fit_session)
    if extra_min % QUANTUM_MIN or not 0 < extra_min <= possible_min:
        raise ExtensionError(extra_min, possible_min)


@transaction.atomic
def cancel_session(
    *, fit_session: FitSession, by: AbstractBaseUser | None, note: str = "", message: str = ""
) -> FitSession:
    """Cancel a session, give its time back, and mail a cancellation that takes it out of the rider's calendar."""
    now = locked(fit_session)
    step(fit_session=now, to=SessionState.CANCELLED, by=by, note=note)
    _store(now)
    drop_reminders(now)
    tell_cancelled(fit_session=now, message=message)
    return _shown(fit_session, now)


def _store(fit_session: FitSession) -> None:
    """Save what changed under the next calendar sequence (RFC 5546 section 2.1.4)."""
    fit_session.sequence += 1
    fit_session.save(update_fields=CHANGED)


def _keep_links_open(fit_session: FitSession) -> None:
    until = fit_session.ends_at + timedelta(days=settings.RIDER_LINK_DAYS_AFTER)
    fit_session.pre_visit.links.filter(revoked_at__isnull=True).update(expires_at=until)


def _shown(asked: FitSession, now: FitSession) -> FitSession:
    """Let the caller's object say what is true now."""
    for name in CHANGED:
        setattr(asked, name, getattr(now, name))
    return now
