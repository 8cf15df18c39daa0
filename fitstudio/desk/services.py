"""What the desk changes besides forms."""

from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _

from intake.models import OutgoingMail, PreVisitCheck, RiderLink
from intake.models.mail import MailState
from intake.selectors.links import full_address, newest_link
from intake.services.links import issue_link, revoke_links
from intake.services.mail import queue_mail
from intake.slots import slot_of
from intake.tasks import send_waiting_mail


@transaction.atomic
def renew_link(*, pre_visit: PreVisitCheck, replaces: str | None = None, by_mail: bool = False) -> RiderLink:
    """Close the open links of a check, make a new one and, where asked, mail it: all of it or nothing.

    ``replaces`` is the id of the open link that the page showed, empty where none was: the same page sent twice renews once.
    """
    PreVisitCheck.objects.select_for_update().get(pk=pre_visit.pk)
    link = newest_link(pre_visit)
    if link is None or replaces is None or replaces == str(link.pk):
        revoke_links(pre_visit=pre_visit)
        link = issue_link(pre_visit=pre_visit, expires_at=_open_until(pre_visit))
    if by_mail:
        _mail(link)
    return link


def _open_until(pre_visit: PreVisitCheck) -> datetime:
    """Return when a new link ends: as long after the session as one made at booking, or after now where that has passed."""
    return max(slot_of(pre_visit.pk).starts_at, timezone.now()) + timedelta(days=settings.RIDER_LINK_DAYS_AFTER)


def _mail(link: RiderLink) -> OutgoingMail:
    slot, rider = slot_of(link.pre_visit_id), link.pre_visit.client
    context = {"rider": rider, "slot": slot, "address": full_address(link)}
    return queue_mail(
        key=f"link:{link.pk}",
        to=rider.email,
        reply_to=slot.studio_email,
        subject=_("Your private link at %s") % slot.studio,
        body=render_to_string("desk/clients/link_mail.txt", context),
        client=rider,
    )


@transaction.atomic
def try_again(*, mail: OutgoingMail) -> bool:
    """Put a mail that was given up back into the queue; return whether it had been given up."""
    failed = OutgoingMail.objects.filter(pk=mail.pk, state=MailState.FAILED)
    if not failed.update(state=MailState.QUEUED, attempts=0, send_after=None):
        return False
    send_waiting_mail.enqueue()
    return True
