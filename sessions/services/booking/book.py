"""Book a session: the one way in, for riders at the public page and for the desk with a caller on the line."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, transaction
from django.utils import timezone

from intake.models import Bike, Client, PreVisitCheck, RiderLink
from intake.services.links import issue_link
from intake.services.snapshots import keep_booked
from intake.services.triage import refresh_summary
from intake.slots import slot_of
from sessions.diary.states import SessionState
from sessions.models import FitSession, Service
from sessions.selectors.booking.places import Place, find_place
from sessions.services.booking.errors import RequestUsedError
from sessions.services.booking.history import begin
from sessions.services.booking.occupancy import occupy, queue_up
from sessions.services.booking.riders import BikeDetails, RiderDetails, bike_for, client_for, same_person
from sessions.services.booking.session_mail import tell_booked


@dataclass(frozen=True)
class Booking:
    """A booked session with the rider's link; ``is_new`` is false where the same form had booked it before."""

    fit_session: FitSession
    link: RiderLink
    is_new: bool


def book(
    *,
    service: Service,
    start: datetime,
    rider: RiderDetails | Client,
    bike: BikeDetails | Bike,
    request_key: str,
    wish: str = "",
    by: AbstractBaseUser | None = None,
    with_notice: bool = True,
    fitter_id: int | None = None,
    bay_id: int | None = None,
) -> Booking:
    """Book one session with everything that belongs to it, or nothing at all.

    The same ``request_key`` books once: sent again, it returns what it booked. ``by`` is the member of staff, empty where riders
    book for themselves; only staff may do without the notice, or name a fitter or a bay.

    Raises StartNotOfferedError, StartTakenError, RequestUsedError.
    """
    try:
        with transaction.atomic():
            queue_up(service.studio_id)
            return _earlier(request_key, service, rider) or _book(
                service=service,
                place=find_place(service, start, with_notice=with_notice, fitter_id=fitter_id, bay_id=bay_id),
                rider=rider,
                bike=bike,
                request_key=request_key,
                wish=wish,
                by=by,
            )
    except IntegrityError:
        # The same form, sent twice at once: the other one has booked by now.
        earlier = _earlier(request_key, service, rider)
        if earlier is None:
            raise
        return earlier


def _earlier(request_key: str, service: Service, rider: RiderDetails | Client) -> Booking | None:
    """Return what this form has booked before, with the link of then, closed or not: what was sent since is not for an old form.

    Raises RequestUsedError where it was somebody else's session, or the link is no longer kept.
    """
    related = FitSession.objects.select_related("client", "bike", "service", "studio", "pre_visit")
    found = related.filter(request_key=request_key).first()
    if found is None:
        return None
    is_same = found.client == rider if isinstance(rider, Client) else same_person(found.client, rider)
    link = found.pre_visit.links.order_by("pk").first()
    if not is_same or found.service_id != service.pk or link is None:
        raise RequestUsedError(request_key)
    return Booking(found, link, is_new=False)


def _issue(fit_session: FitSession) -> RiderLink:
    until = fit_session.ends_at + timedelta(days=settings.RIDER_LINK_DAYS_AFTER)
    return issue_link(pre_visit=fit_session.pre_visit, expires_at=until)


def _book(
    *,
    service: Service,
    place: Place,
    rider: RiderDetails | Client,
    bike: BikeDetails | Bike,
    request_key: str,
    wish: str,
    by: AbstractBaseUser | None,
) -> Booking:
    today = timezone.localdate(timezone=service.studio.zone)
    client = rider if isinstance(rider, Client) else client_for(rider, today=today)
    own_bike = bike if isinstance(bike, Bike) else bike_for(client, bike)
    fit_session = FitSession.objects.create(
        studio=service.studio,
        service=service,
        client=client,
        bike=own_bike,
        fitter_id=place.fitter_id,
        bay_id=place.bay_id,
        pre_visit=PreVisitCheck.objects.create(client=client, bike=own_bike),
        starts_at=place.start,
        ends_at=place.start + timedelta(minutes=service.length_min),
        planned_min=service.planned_min,
        slack_min=service.slack_min,
        buffer_before_min=service.buffer_before_min,
        buffer_after_min=service.buffer_after_min,
        state=SessionState.BOOKED.value,
        request_key=request_key,
        wish=wish,
    )
    occupy(fit_session)
    begin(fit_session=fit_session, by=by)
    link = _issue(fit_session)
    session_slot = slot_of(fit_session.pre_visit_id)
    refresh_summary(fit_session.pre_visit, session_slot=session_slot)
    keep_booked(fit_session.pre_visit)
    tell_booked(fit_session=fit_session, session_slot=session_slot)
    return Booking(fit_session, link, is_new=True)
