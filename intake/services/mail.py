"""Write mails into the outbox, and send what waits there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone

from intake.models import Client, MailAttachment, OutgoingMail
from intake.models.mail import MailState

MOST_ATTEMPTS = 8
CLAIM_LASTS = timedelta(minutes=10)


@dataclass(frozen=True)
class File:
    """Something to attach."""

    filename: str
    media_type: str
    content: bytes


def queue_mail(
    *,
    key: str,
    to: str,
    subject: str,
    body: str,
    reply_to: str = "",
    client: Client | None = None,
    files: Sequence[File] = (),
    send_after: datetime | None = None,
) -> OutgoingMail:
    """Write one mail and have it sent after the transaction. The same occasion (``key``) is written once.

    ``reply_to`` is the studio's own address, where one server sends for several studios.
    """
    from intake.tasks import send_waiting_mail  # noqa: PLC0415 - the task calls back into this module

    with transaction.atomic():
        mail, is_new = OutgoingMail.objects.get_or_create(
            key=key,
            defaults={
                "client": client,
                "to": to,
                "reply_to": reply_to,
                "subject": " ".join(subject.split())[:250],
                "body": body,
                "send_after": send_after,
            },
        )
        if is_new:
            MailAttachment.objects.bulk_create(
                MailAttachment(mail=mail, filename=f.filename, media_type=f.media_type, content=f.content)
                for f in files
            )
            send_waiting_mail.enqueue()
    return mail


def waiting_mail() -> list[int]:
    """Return the ids of the mails that are due, oldest first."""
    return list(_due().order_by("created_at", "pk").values_list("pk", flat=True))


def _due() -> QuerySet[OutgoingMail]:
    arrived = Q(send_after__isnull=True) | Q(send_after__lte=timezone.now())
    return OutgoingMail.objects.filter(arrived, state=MailState.QUEUED)


def send_one(mail_id: int) -> bool:
    """Send one mail if it still waits; return whether it went. A failure is kept and tried again later.

    The claim is written first, so that of two drainers one sends, and no lock is held while a mail server thinks. A worker
    that dies between the server's yes and our note of it sends that mail again after the claim has lapsed, rather than never.
    """
    if not _claim(mail_id):
        return False
    mail = OutgoingMail.objects.get(pk=mail_id)
    try:
        _deliver(mail)
    except Exception as error:
        _postpone(mail, str(error))
        return False
    mail.state, mail.sent_at, mail.last_error = MailState.SENT, timezone.now(), ""
    mail.save(update_fields=["state", "sent_at", "last_error"])
    return True


def _claim(mail_id: int) -> bool:
    claimed = _due().filter(pk=mail_id).update(attempts=F("attempts") + 1, send_after=timezone.now() + CLAIM_LASTS)
    return claimed == 1


def _deliver(mail: OutgoingMail) -> None:
    answers_to = [mail.reply_to] if mail.reply_to else None
    message = EmailMessage(mail.subject, mail.body, settings.DEFAULT_FROM_EMAIL, [mail.to], reply_to=answers_to)
    for attached in mail.attachments.all():
        message.attach(attached.filename, bytes(attached.content), attached.media_type)
    message.send()


def _postpone(mail: OutgoingMail, error: str) -> None:
    mail.last_error = error[:2000]
    mail.send_after = timezone.now() + timedelta(minutes=2**mail.attempts)
    if mail.attempts >= MOST_ATTEMPTS:
        mail.state = MailState.FAILED
    mail.save(update_fields=["last_error", "send_after", "state"])
