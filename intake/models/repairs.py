"""What riders and workshops say about putting a finding right. Rows are only ever added."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from intake.models.decisions import FindingDecision
from intake.models.photos import Photo
from intake.models.previsit import PreVisitCheck


class RepairSource(models.TextChoices):
    """Whose word it is."""

    RIDER = "rider", _("rider")
    WORKSHOP = "workshop", _("workshop")


class RepairOutcome(models.TextChoices):
    """What became of it."""

    DONE = "done", _("done")
    NEEDS_PART = "needs_part", _("needs a part")
    CANNOT = "cannot", _("cannot be done")
    CAME_BACK = "came_back", _("it came back")


class DoneBy(models.TextChoices):
    """Who did the work, as far as the rider says."""

    UNSAID = "", _("not said")
    RIDER = "rider", _("the rider")
    WORKSHOP = "workshop", _("a workshop")


class RepairReport(models.Model):
    """One report on one finding, named by its key ``check.fault``. The latest of a finding is in force.

    ``since_decision`` is the studio's latest decision on the finding that was there already: any later one outweighs the report.
    """

    pre_visit = models.ForeignKey(
        PreVisitCheck, models.CASCADE, related_name="repair_reports", verbose_name=_("pre-visit check")
    )
    finding_key = models.CharField(_("finding"), max_length=121)
    source = models.CharField(_("who says so"), max_length=8, choices=RepairSource)
    outcome = models.CharField(_("outcome"), max_length=10, choices=RepairOutcome)
    done_by = models.CharField(_("done by"), max_length=8, choices=DoneBy, blank=True)
    note = models.CharField(_("note"), max_length=500, blank=True)
    photo = models.ForeignKey(
        Photo, models.SET_NULL, null=True, blank=True, related_name="repair_reports", verbose_name=_("photo")
    )
    reporter_name = models.CharField(_("name"), max_length=200, blank=True)
    since_decision = models.ForeignKey(
        FindingDecision, models.SET_NULL, null=True, blank=True, related_name="+", verbose_name=_("after the decision")
    )
    reported_at = models.DateTimeField(_("reported"), auto_now_add=True)

    class Meta:
        verbose_name = _("repair report")
        verbose_name_plural = _("repair reports")
        ordering = ["pk"]
        indexes = [models.Index(fields=["pre_visit", "finding_key"], name="repair_by_finding")]
        constraints = [
            models.CheckConstraint(condition=~models.Q(finding_key=""), name="repair_names_its_finding"),
            models.CheckConstraint(condition=models.Q(source__in=RepairSource.values), name="repair_source_known"),
            models.CheckConstraint(condition=models.Q(outcome__in=RepairOutcome.values), name="repair_outcome_known"),
            models.CheckConstraint(condition=models.Q(done_by__in=DoneBy.values), name="repair_done_by_known"),
        ]

    def __str__(self) -> str:
        return f"{self.finding_key}: {self.get_outcome_display()}"
