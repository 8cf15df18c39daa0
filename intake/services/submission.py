"""Hand the check in, and send the rider in writing what to do before the session."""

from hashlib import sha256

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.translation import gettext as _

from intake.models import OutgoingMail, PreVisitCheck
from intake.selectors.advice import advice_of
from intake.selectors.catalogue import current_catalogue
from intake.selectors.links import full_address, newest_link
from intake.services.answers import check_changeable
from intake.services.mail import queue_mail
from intake.services.triage import refresh_summary
from intake.slots import SessionSlot
from intake.triage.engine import Triage


class NothingAnsweredError(Exception):
    """The check is handed in without a single answer."""


@transaction.atomic
def submit(*, pre_visit: PreVisitCheck, session_slot: SessionSlot, note: str = "") -> Triage:
    """Hand the check in and mail the advice, once for each content; return what the answers mean.

    Raises CheckClosedError once the session has begun, NothingAnsweredError where there is nothing to judge.
    """
    check_changeable(session_slot)
    if not (pre_visit.answers.exists() or pre_visit.discomforts.exists() or pre_visit.no_discomfort):
        raise NothingAnsweredError
    pre_visit.note, pre_visit.submitted_at = note, timezone.now()
    pre_visit.save(update_fields=["note", "submitted_at"])
    result = refresh_summary(pre_visit, session_slot=session_slot)
    mail_advice(pre_visit=pre_visit, session_slot=session_slot, result=result)
    return result


def mail_advice(*, pre_visit: PreVisitCheck, session_slot: SessionSlot, result: Triage) -> OutgoingMail:
    """Mail what to do before the session, unless the rider's latest mail of this kind says the same."""
    subject, body = advice_mail(pre_visit, session_slot, result)
    occasion = f"advice:{pre_visit.pk}:"
    earlier = OutgoingMail.objects.filter(key__startswith=occasion).order_by("-pk")
    latest = earlier.first()
    if latest is not None and latest.body == body:
        return latest
    digest = sha256(body.encode()).hexdigest()[:16]
    return queue_mail(
        key=f"{occasion}{earlier.count() + 1}:{digest}",
        to=pre_visit.client.email,
        reply_to=session_slot.studio_email,
        subject=subject,
        body=body,
        client=pre_visit.client,
    )


def advice_mail(pre_visit: PreVisitCheck, session_slot: SessionSlot, result: Triage) -> tuple[str, str]:
    """Return subject and text of the mail: the same advice as on the rider's page."""
    context = {
        "advice": advice_of(result, current_catalogue()),
        "pre_visit": pre_visit,
        "slot": session_slot,
        "address": full_address(newest_link(pre_visit), "check:advice"),
    }
    with translation.override(settings.LANGUAGE_CODE), timezone.override(session_slot.zone):
        body = render_to_string("intake/check/advice_mail.txt", context)
        subject = _("Before your session at %(studio)s") % {"studio": session_slot.studio}
    return subject, body.strip() + "\n"
