"""The mails about a session's time: booked, moved, made longer, cancelled. Each carries the calendar file that belongs to it."""

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.translation import gettext as _

from intake.models import OutgoingMail
from intake.selectors.links import full_address, newest_link
from intake.services.mail import File, queue_mail
from intake.slots import SessionSlot
from sessions.models import FitSession
from sessions.selectors.booking.preparation import preparation_of
from sessions.selectors.booking.weeks import clock_name
from sessions.services.booking.invitations import Method, calendar_file, invitation_of


def tell_booked(*, fit_session: FitSession, session_slot: SessionSlot) -> OutgoingMail:
    """Confirm the booking: when and where, the private page, and what to do at home first."""
    context = {"preparation": preparation_of(fit_session.pre_visit, session_slot)}
    return _tell(fit_session, "booked", _("Your session at %(studio)s"), Method.REQUEST, context)


def tell_moved(*, fit_session: FitSession, message: str = "") -> OutgoingMail:
    """Say the new time."""
    return _tell(
        fit_session, "moved", _("New time for your session at %(studio)s"), Method.REQUEST, {"message": message}
    )


def tell_longer(*, fit_session: FitSession, extra_min: int, message: str = "") -> OutgoingMail:
    """Say how much longer the session takes."""
    context = {"message": message, "extra_min": extra_min}
    return _tell(fit_session, "longer", _("Your session at %(studio)s takes longer"), Method.REQUEST, context)


def tell_cancelled(*, fit_session: FitSession, message: str = "") -> OutgoingMail:
    """Say that the session does not take place."""
    return _tell(
        fit_session, "cancelled", _("Your session at %(studio)s is cancelled"), Method.CANCEL, {"message": message}
    )


def _tell(
    fit_session: FitSession, occasion: str, subject: str, method: Method, context: dict[str, object]
) -> OutgoingMail:
    studio, client = fit_session.studio, fit_session.client
    context |= {
        "fit_session": fit_session,
        "studio": studio,
        "client": client,
        "address": full_address(newest_link(fit_session.pre_visit)),
        "clock": clock_name(fit_session.starts_at.astimezone(studio.zone)),
    }
    with translation.override(settings.LANGUAGE_CODE), timezone.override(studio.zone):
        body = render_to_string(f"sessions/mail/{occasion}.txt", context)
        invitation = calendar_file(invitation_of(fit_session), method)
    return queue_mail(
        key=f"{occasion}:{fit_session.uid}:{fit_session.sequence}",
        to=client.email,
        reply_to=studio.email,
        subject=subject % {"studio": studio.name},
        body=body.strip() + "\n",
        client=client,
        files=[File("session.ics", f"text/calendar; method={method.value}", invitation)],
    )
