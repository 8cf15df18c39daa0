"""What the desk changes besides forms."""

from datetime import timedelta

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.utils.translation import gettext as _

from intake.models import OutgoingMail, PreVisitCheck, RiderLink
from intake.models.mail import MailState
from intake.selectors.links import full_address, newest_link
from intake.services.links import issue_link, revoke_links
from intake.services.mail import queue_mail
from intake.slots import slot_of
from intake.tasks import send_waiting_mail


@transaction.atomic
def renew_link(*, pre_visit: PreVisitCheck, replaces: str | None = None) -> RiderLink:
    """Close the open links of a check and make a new one, open as long as one made at booking.

    ``replaces`` is the id of the open link that the page showed, empty where none was: the same page sent twice renews once.
    """
    PreVisitCheck.objects.select_for_update().get(pk=pre_visit.pk)
    newest = newest_link(pre_visit)
    if newest is not None and replaces is not None and replaces != str(newest.pk):
        return newest
    revoke_links(pre_visit=pre_visit)
    starts_at = slot_of(pre_visit.pk).starts_at
    return issue_link(pre_visit=pre_visit, expires_at=starts_at + timedelta(days=settings.RIDER_LINK_DAYS_AFTER))


def mail_link(*, link: RiderLink) -> OutgoingMail:
    """Mail a link to its rider."""
    slot, rider = slot_of(link.pre_visit_id), link.pre_visit.client
    return queue_mail(
        key=f"link:{link.pk}",
        to=rider.email,
        reply_to=slot.studio_email,
        subject=_("Your private link at %s") % slot.studio,
        body=render_to_string(
            "desk/clients/link_mail.txt", {"rider": rider, "slot": slot, "address": full_address(link)}
        ),
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
