"""Take and give back the time of a fitter and a bay. The rows' unique constraints are what refuses an overlap."""

from datetime import datetime

from django.db import IntegrityError, transaction

from sessions.diary.intervals import Interval
from sessions.diary.quanta import quanta
from sessions.models import FitSession, Occupancy, Studio
from sessions.selectors.booking.diary import need_of_session
from sessions.services.booking.errors import StartTakenError


def queue_up(studio_id: int) -> None:
    """Let the writers of one studio's diary pass one after the other, for the rest of the transaction.

    Not what refuses an overlap, but what spares two people the same choice of fitter, and PostgreSQL a deadlock between two
    moves. SQLite lets only one transaction write anyway.
    """
    list(Studio.objects.select_for_update(no_key=True).filter(pk=studio_id).values_list("pk"))


def locked(fit_session: FitSession) -> FitSession:
    """Return the session as it is now, kept from other writers for the rest of the transaction."""
    queue_up(fit_session.studio_id)
    related = FitSession.objects.select_related(
        "studio", "service", "client", "bike", "fitter", "bay", "pre_visit__bike"
    )
    return related.select_for_update(of=("self",)).get(pk=fit_session.pk)


def occupied_by(fit_session: FitSession) -> Interval:
    """Return all the time that a session occupies, its buffers included."""
    return need_of_session(fit_session).occupied(fit_session.starts_at)


def occupy(fit_session: FitSession) -> None:
    """Take a session's whole time; StartTakenError where any of it is somebody else's."""
    taken = occupied_by(fit_session)
    _take(fit_session, taken.start, taken.end)


def occupy_more(fit_session: FitSession, *, since: datetime) -> None:
    """Take what a longer session occupies beyond the end that it had."""
    _take(fit_session, since, occupied_by(fit_session).end)


def release(fit_session: FitSession) -> None:
    """Give back all the time of a session."""
    fit_session.occupancy.all().delete()


def _take(fit_session: FitSession, start: datetime, end: datetime) -> None:
    # Ascending order: two writers who want overlapping times then meet at one row and never wait for each other in a ring.
    rows = [
        Occupancy(fit_session=fit_session, fitter_id=fit_session.fitter_id, bay_id=fit_session.bay_id, quantum=quantum)
        for quantum in quanta(start, end)
    ]
    try:
        with transaction.atomic():
            Occupancy.objects.bulk_create(rows)
    except IntegrityError as error:
        raise StartTakenError(fit_session.starts_at) from error
