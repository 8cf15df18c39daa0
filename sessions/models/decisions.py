"""What was decided about the slot itself."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from intake.models import OutgoingMail
from sessions.models.fit_sessions import FitSession


class SlotChoice(models.TextChoices):
    """What happens to the slot."""

    KEEP = "keep", _("keep")
    EXTEND = "extend", _("extend")
    MOVE = "move", _("move")
    ASK_RIDER = "ask_rider", _("ask the rider")


class SlotDecision(models.Model):
    """A decision on the slot, kept with who and when; the latest is in force."""

    fit_session = models.ForeignKey(
        FitSession, models.CASCADE, related_name="slot_decisions", verbose_name=_("session")
    )
    choice = models.CharField(_("decision"), max_length=10, choices=SlotChoice)
    extra_min = models.PositiveSmallIntegerField(_("extra minutes"), default=0)
    note = models.CharField(_("note"), max_length=500, blank=True)
    mail = models.ForeignKey(
        OutgoingMail, models.SET_NULL, null=True, blank=True, related_name="+", verbose_name=_("mail to the rider")
    )
    decided_at = models.DateTimeField(_("decided"), auto_now_add=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, verbose_name=_("decided by")
    )

    class Meta:
        verbose_name = _("decision on a slot")
        verbose_name_plural = _("decisions on slots")
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=Q(choice__in=SlotChoice.values), name="slot_choice_known")]

    def __str__(self) -> str:
        return self.get_choice_display()
