"""A session as an iCalendar object (RFC 5545), and as the mails of RFC 5546: the same UID, a higher SEQUENCE each time.

What a calendar shows is often shared with family or colleagues, so the rider's private address never stands in it.
"""

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from django.utils import timezone
from django.utils.translation import gettext as _
from icalendar import Calendar, Event, vCalAddress

from sessions.diary.states import SessionState
from sessions.models import FitSession

PRODUCT = "-//Fitstudio//Bicycle fitting studio//EN"
UID_DOMAIN = "sessions.fitstudio"
# RFC 5545 section 3.1 allows no control character in a value but the tab, and section 3.2 no double quote in a parameter.
CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


class Method(StrEnum):
    """What an invitation does: it invites by mail, takes back, or is only shown."""

    REQUEST = "REQUEST"
    CANCEL = "CANCEL"
    PUBLISH = "PUBLISH"


@dataclass(frozen=True)
class Invitation:
    """What stands in a calendar about one session."""

    uid: str
    sequence: int
    stamped_at: datetime
    starts_at: datetime
    ends_at: datetime
    summary: str
    description: str
    location: str
    studio: str
    studio_email: str
    rider: str
    rider_email: str
    is_cancelled: bool = False


def invitation_of(fit_session: FitSession) -> Invitation:
    """Return what a calendar may know of a session."""
    studio, service = fit_session.studio, fit_session.service
    return Invitation(
        uid=f"{fit_session.uid}@{UID_DOMAIN}",
        sequence=fit_session.sequence,
        stamped_at=timezone.now(),
        starts_at=fit_session.starts_at,
        ends_at=fit_session.ends_at,
        summary=_("%(service)s at %(studio)s") % {"service": service.name, "studio": studio.name},
        description=_description(fit_session),
        location=", ".join([studio.name, *filter(None, map(str.strip, studio.address.splitlines()))]),
        studio=studio.name,
        studio_email=studio.email,
        rider=fit_session.client.name,
        rider_email=fit_session.client.email,
        is_cancelled=fit_session.state == SessionState.CANCELLED,
    )


def _description(fit_session: FitSession) -> str:
    studio = fit_session.studio
    lines = [
        _("Bike: %(bike)s") % {"bike": fit_session.bike.name},
        _("Your private page is in the mail that confirmed the booking."),
        _("To move or cancel, tell the studio: %(email)s") % {"email": studio.email},
    ]
    if studio.phone:
        lines.append(_("Telephone: %(phone)s") % {"phone": studio.phone.as_international})
    return "\n".join(lines)


def calendar_file(invitation: Invitation, method: Method) -> bytes:
    """Return the invitation as the bytes of an .ics file: UTF-8, lines ended by CRLF and folded at 75 octets."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", method.value)
    calendar.add_component(_event(invitation, method))
    return calendar.to_ical()


def _event(invitation: Invitation, method: Method) -> Event:
    event = Event()
    event.add("uid", invitation.uid)
    event.add("sequence", invitation.sequence)
    event.add("dtstamp", invitation.stamped_at.astimezone(UTC).replace(microsecond=0))
    event.add("dtstart", invitation.starts_at.astimezone(UTC))
    event.add("dtend", invitation.ends_at.astimezone(UTC))
    event.add("summary", _plain(invitation.summary))
    event.add("description", _plain(invitation.description))
    event.add("location", _plain(invitation.location))
    event.add("status", "CANCELLED" if invitation.is_cancelled else "CONFIRMED")
    event.add("transp", "OPAQUE")
    event.add("organizer", _address(invitation.studio, invitation.studio_email))
    # RFC 5546 sections 3.2.1 and 3.2.2: an invitation names whom it invites, a published event must not.
    if method is not Method.PUBLISH:
        event.add("attendee", _rider(invitation))
    return event


def _rider(invitation: Invitation) -> vCalAddress:
    rider = _address(invitation.rider, invitation.rider_email)
    rider.params["ROLE"] = "REQ-PARTICIPANT"
    # Whoever booked has accepted; nothing needs to be mailed back.
    rider.params["PARTSTAT"] = "ACCEPTED"
    rider.params["RSVP"] = "FALSE"
    return rider


def _address(name: str, email: str) -> vCalAddress:
    address = vCalAddress(f"mailto:{email}")
    address.params["CN"] = " ".join(_plain(name).replace('"', "”").replace("^", "").split())
    return address


def _plain(text: str) -> str:
    return CONTROL.sub("", text.replace("\r\n", "\n").replace("\t", " "))
