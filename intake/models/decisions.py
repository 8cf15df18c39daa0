"""What a fitter decided, who and when. Rows are only ever added: the latest for a finding is in force."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from intake.models.previsit import PreVisitCheck
from intake.triage.answers import Ruling

RULING_LABELS = {
    Ruling.FIX_FIRST: _("fix before the session"),
    Ruling.STUDIO: _("the studio does it"),
    Ruling.BRING_PART: _("bring the part"),
    Ruling.ACCEPT: _("accept as it is"),
    Ruling.NOT_A_FAULT: _("not a fault"),
    Ruling.FIXED: _("has been fixed"),
}


class FindingDecision(models.Model):
    """A decision on one finding, named by its key ``check.fault``. An empty ruling takes the last one back."""

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="decisions", verbose_name=_("pre-visit check")
    )
    finding_key = models.CharField(_("finding"), max_length=121)
    ruling = models.CharField(
        _("decision"), max_length=12, blank=True, choices=[(r.value, t) for r, t in RULING_LABELS.items()]
    )
    note = models.CharField(_("note"), max_length=500, blank=True)
    decided_at = models.DateTimeField(_("decided"), auto_now_add=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, verbose_name=_("decided by")
    )

    class Meta:
        verbose_name = _("decision on a finding")
        verbose_name_plural = _("decisions on findings")
        ordering = ["pk"]
        indexes = [models.Index(fields=["pre_visit", "finding_key"], name="decision_by_finding")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(ruling__in=["", *(r.value for r in Ruling)]), name="decision_ruling_known"
            )
        ]

    def __str__(self) -> str:
        return f"{self.finding_key}: {self.get_ruling_display()}"


class RedFlagNote(models.Model):
    """A member of staff has read a red flag and says what was agreed with the rider."""

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="red_flag_notes", verbose_name=_("pre-visit check")
    )
    note = models.CharField(_("what was agreed"), max_length=500)
    noted_at = models.DateTimeField(_("noted"), auto_now_add=True)
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, blank=True, verbose_name=_("noted by")
    )

    class Meta:
        verbose_name = _("red-flag note")
        verbose_name_plural = _("red-flag notes")
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.note
