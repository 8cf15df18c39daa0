"""What riders were reminded of, so that no occasion is mailed about twice."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from intake.models.mail import OutgoingMail
from intake.models.previsit import PreVisitCheck


class Reminder(models.Model):
    """One occasion that was mailed about, for the session on one day; moved to another day, a session has new ones."""

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="reminders", verbose_name=_("pre-visit check")
    )
    starts_on = models.DateField(_("for the session on"))
    occasion = models.CharField(_("occasion"), max_length=160)
    reminded_on = models.DateField(_("mailed on"))
    mail = models.ForeignKey(
        OutgoingMail, models.SET_NULL, null=True, blank=True, related_name="reminders", verbose_name=_("mail")
    )

    class Meta:
        verbose_name = _("reminder")
        verbose_name_plural = _("reminders")
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["pre_visit", "starts_on", "occasion"], name="reminder_once_per_occasion"),
            models.CheckConstraint(condition=models.Q(reminded_on__lt=models.F("starts_on")), name="reminder_in_time"),
        ]

    def __str__(self) -> str:
        return f"{self.occasion} ({self.reminded_on})"
