"""The outbox: a mail that must go is a row, written in the same transaction as the change that caused it."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from intake.models.clients import Client


class MailState(models.TextChoices):
    """How far a mail has come."""

    QUEUED = "queued", _("waiting to be sent")
    SENT = "sent", _("sent")
    FAILED = "failed", _("could not be sent")
    DROPPED = "dropped", _("no longer needed")


class OutgoingMail(models.Model):
    """One mail to one address. ``key`` names its occasion, so that nothing is sent twice."""

    key = models.CharField(_("occasion"), max_length=150, unique=True)
    client = models.ForeignKey(
        Client, models.CASCADE, null=True, blank=True, related_name="mails", verbose_name=_("client")
    )
    to = models.EmailField(_("to"), max_length=254)
    reply_to = models.EmailField(_("answers go to"), max_length=254, blank=True)
    subject = models.CharField(_("subject"), max_length=250)
    body = models.TextField(_("text"))
    state = models.CharField(_("state"), max_length=8, choices=MailState, default=MailState.QUEUED)
    attempts = models.PositiveSmallIntegerField(_("attempts"), default=0)
    last_error = models.TextField(_("last error"), blank=True)
    created_at = models.DateTimeField(_("written"), auto_now_add=True)
    send_after = models.DateTimeField(_("not before"), null=True, blank=True)
    sent_at = models.DateTimeField(_("sent"), null=True, blank=True)

    class Meta:
        verbose_name = _("mail")
        verbose_name_plural = _("mails")
        ordering = ["-created_at", "-pk"]
        indexes = [models.Index(fields=["state", "send_after"], name="mail_waiting")]
        constraints = [
            models.CheckConstraint(condition=models.Q(state__in=MailState.values), name="mail_state_known"),
            models.CheckConstraint(
                condition=~models.Q(state=MailState.SENT) | models.Q(sent_at__isnull=False), name="mail_sent_has_time"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.to}: {self.subject}"


class MailAttachment(models.Model):
    """A small file that goes with a mail, such as an invitation."""

    mail = models.ForeignKey(OutgoingMail, models.CASCADE, related_name="attachments", verbose_name=_("mail"))
    filename = models.CharField(_("file name"), max_length=120)
    media_type = models.CharField(_("media type"), max_length=120)
    content = models.BinaryField(_("content"))

    class Meta:
        verbose_name = _("attachment")
        verbose_name_plural = _("attachments")

    def __str__(self) -> str:
        return self.filename
