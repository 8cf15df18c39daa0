"""The mail that says where the fit sheet is."""

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.translation import gettext as _

from intake.models import OutgoingMail
from intake.selectors.links import full_address, newest_link
from intake.services.mail import queue_mail
from sessions.models import FitSession


def tell_sheet_ready(*, fit_session: FitSession) -> OutgoingMail | None:
    """Mail the address of the fit sheet, once for each session; None where no private link is open."""
    link = newest_link(fit_session.pre_visit)
    if link is None:
        return None
    client, studio = fit_session.client, fit_session.studio
    context = {
        "client": client,
        "studio": studio,
        "fit_session": fit_session,
        "sheet_address": full_address(link, "rider:fit_sheet"),
        "address": full_address(link),
    }
    with translation.override(settings.LANGUAGE_CODE), timezone.override(studio.zone):
        body = render_to_string("sessions/mail/fit_sheet.txt", context)
        subject = _("Your fit sheet from %(studio)s") % {"studio": studio.name}
    return queue_mail(
        key=f"fit_sheet:{fit_session.uid}",
        to=client.email,
        reply_to=studio.email,
        subject=subject,
        body=body.strip() + "\n",
        client=client,
    )
